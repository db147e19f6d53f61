"use strict";
// Forms from the server's tables: one field for each row, whatever the kind of part.

// An element with properties and children; `data` and `aria` are sets of attributes.
const el = (tag, props = {}, ...children) => {
  const made = document.createElement(tag);
  for (const [key, value] of Object.entries(props)) {
    if (key === "data") Object.assign(made.dataset, value);
    else if (key === "aria") for (const [name, text] of Object.entries(value)) made.setAttribute(`aria-${name}`, text);
    else if (key === "role" || key === "for") made.setAttribute(key, value);
    else if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else made[key] = value;
  }
  made.append(...children.filter((child) => child !== null && child !== undefined));
  return made;
};

const words = (key) => key.replaceAll("_", " ");
const idOf = (field) => `f-${field.replace(/[^a-z0-9]+/gi, "-")}`;

// How a field is called for people: "plunger 2, travel" of part[1].plunger[2].travel.
const fieldName = (field) => {
  const keys = field.split(".").slice(1).map((key) => words(key).replace(/\[(\d+)\]/, " $1"));
  return keys.length > 0 ? keys.join(", ") : words(field).replace(/\[(\d+)\]/, " $1");
};

// A form for rows of a table. `bench` has `tables`, `change(asked)`, `rebuild()` and `take(file)`.
const formOf = (bench) => {
  const set = (field, value) => bench.change({ set: { field, value } });

  const meaning = (row, id) => {
    const text = [row.doc];
    if (row.type === "number" || row.type === "integer" || row.type === "numbers" || row.type === "points") {
      text.push(`${say("range", row)} ${row.unit || ""}`.trim() + ".");
    }
    if (row.default !== null && row.type !== "flag") text.push(`${say("byDefault", { value: row.default })}.`);
    return el("p", { className: "meaning", id: `${id}-m` }, text.join(" "));
  };

  const field = (row, path, control, more) => {
    const id = idOf(path), unit = row.unit ? el("span", { className: "unit", aria: { hidden: "true" } }, row.unit) : null;
    control.id = id;
    control.setAttribute("aria-describedby", `${id}-m ${id}-e`);
    const label = el("label", { for: id }, words(row.key), row.unit ? el("span", { className: "quiet" }, ` (${row.unit})`) : null);
    const line = el("div", { className: "line" }, control, unit);
    return el("div", { className: `field ${row.type}`, data: { field: path, measured: row.measured } }, label, line,
      el("div", { className: "faults", id: `${id}-e` }), meaning(row, id), ...(more || []));
  };

  const input = (row, path, value) => {
    const numeric = ["number", "integer"].includes(row.type);
    const long = row.type === "points";
    const control = el(long ? "textarea" : "input", {
      value: value ?? "", autocomplete: "off", spellcheck: false, data: { input: path },
      // What a new job asks for is there, and empty.
      placeholder: row.default ?? (row.required || value === "" ? say("required") : say("leftOut")),
      oninput: () => set(path, control.value),
    });
    if (!long) control.type = "text";
    if (numeric) control.inputMode = "decimal";
    if (row.longest) control.maxLength = row.longest;
    return control;
  };

  const choice = (row, path, value) => {
    const none = row.default === null ? say(row.required ? "choose" : "leftOut") : say("byDefault", { value: row.default });
    const control = el("select", { data: { input: path }, onchange: () => set(path, control.value) },
      el("option", { value: "" }, none), ...row.options.map((word) => el("option", { value: word }, word)));
    if (value && !row.options.includes(value)) control.append(el("option", { value }, value));
    control.value = value ?? "";
    return control;
  };

  const flag = (row, path, value) => {
    const control = el("input", { type: "checkbox", data: { input: path }, checked: (value ?? row.default) === "true",
      onchange: () => set(path, String(control.checked)) });
    return control;
  };

  const file = (row, path, value) => {
    const pick = el("input", { type: "file", accept: row.endings.map((e) => `.${e}`).join(","), hidden: true,
      onchange: async () => { const name = pick.files[0] && await bench.take(pick.files[0]); if (name) set(path, name); } });
    const button = el("button", { type: "button", onclick: () => pick.click() }, say("pickFile"));
    return field(row, path, input(row, path, value), [el("p", { className: "row" }, button, pick)]);
  };

  // A component: a profile by name, and what of it was measured.
  const component = (row, path, value) => {
    const family = bench.tables.families[row.family];
    const whole = value !== null && typeof value === "object";
    const profile = whole ? value.profile ?? "" : value ?? "";
    const none = row.default === null ? say(row.required ? "choose" : "leftOut") : say("byDefault", { value: row.default });
    const own = "\u0000own";
    const names = Object.keys(family.profiles);
    const control = el("select", { data: { input: path }, onchange: () => {
      // Other measures are known of another profile.
      bench.rebuild();
      if (control.value === own) bench.change({ add: path });
      else set(path, control.value);
    } }, el("option", { value: "" }, none), ...names.map((name) => el("option", { value: name }, name)),
      el("option", { value: own }, say("own")));
    if (profile && !names.includes(profile)) control.append(el("option", { value: profile }, profile));
    control.value = whole && !value.profile ? own : profile;
    const known = family.profiles[profile || row.default] || {};
    const rows = family.rows.filter((r) => r.key !== "source" && r.key !== "note");
    const inner = rows.map((r) => {
      const shown = known[r.key] === undefined ? r : { ...r, default: known[r.key], asks: false };
      return one(shown, `${path}.${r.key}`, whole ? value[r.key] : undefined);
    });
    const open = whole && Object.keys(value).some((key) => key !== "profile");
    const measured = el("details", { open }, el("summary", {}, say("measured")),
      el("div", { className: "inner" }, el("p", { className: "meaning" }, say("measuredWhy")), ...inner));
    return field(row, path, control, [measured]);
  };

  const one = (row, path, value) => {
    switch (row.type) {
      case "choice": return field(row, path, choice(row, path, value));
      case "flag": return field(row, path, flag(row, path, value));
      case "file": return file(row, path, value);
      case "component": return component(row, path, value);
      case "table": return table(row, path, value);
      case "list": return list(row, path, value);
      default: return field(row, path, input(row, path, value));
    }
  };

  const removal = (path, what) =>
    el("button", { type: "button", className: "quiet", onclick: () => bench.change({ remove: path }) }, say("remove", { what }));
  const addition = (path, what, off) =>
    el("button", { type: "button", disabled: off, data: { add: path }, onclick: () => bench.change({ add: path }) }, say("add", { what }));

  const table = (row, path, value) => {
    const what = words(row.key);
    const about = el("p", { className: "meaning" }, row.doc);
    const box = el("fieldset", { data: { field: path } }, el("legend", {}, what), about, el("div", { className: "faults" }));
    if (value === undefined) box.append(addition(path, what, false));
    else {
      box.append(...rowsOf(row.rows, path, value));
      if (!row.required) box.append(removal(path, what));
    }
    return box;
  };

  const list = (row, path, value) => {
    const what = words(row.key), items = Array.isArray(value) ? value : [];
    const about = el("p", { className: "meaning" }, row.doc);
    const entries = items.map((item, i) => {
      const at = `${path}[${i + 1}]`, name = `${what} ${i + 1}`;
      return el("fieldset", { data: { field: at } }, el("legend", {}, name), el("div", { className: "faults" }),
        ...rowsOf(row.rows, at, item), removal(at, name));
    });
    const full = row.most !== null && items.length >= row.most;
    return el("div", { className: "list", data: { field: path } }, about, el("div", { className: "faults" }), ...entries,
      addition(path, what, full));
  };

  // What is asked for first, then what may stay as it is.
  const rowsOf = (rows, path, value) => {
    const first = rows.filter((row) => row.asks || row.required || value[row.key] !== undefined);
    const rest = rows.filter((row) => !first.includes(row));
    const make = (row) => one(row, `${path}.${row.key}`, value[row.key]);
    const out = first.map(make);
    if (rest.length > 0) {
      const inner = el("div", { className: "inner" });
      // Most never open it, and a hundred fields take time.
      const fill = () => { if (!inner.hasChildNodes()) inner.append(...rest.map(make)); };
      const more = el("details", { data: { rest: `${path}.${rest[0].key}` }, ontoggle: fill }, el("summary", {}, say("mayStay", { n: rest.length })), inner);
      more.fill = () => { fill(); more.open = true; };
      more.holds = rest.map((row) => `${path}.${row.key}`);
      out.push(more);
    }
    return out;
  };

  return { one, rowsOf };
};

// What decides how a form is built; other changes only change values in it.
const structure = (written) => {
  const of = (value) => {
    if (Array.isArray(value)) return value.map(of);
    const kept = Object.entries(value).filter(([key, v]) => typeof v === "object" || key === "kind" || key === "profile");
    return Object.fromEntries(kept.map(([key, v]) => [key, typeof v === "object" ? of(v) : v]));
  };
  return JSON.stringify(of(written));
};

// The value behind a field of what is written.
const valueAt = (written, field) => {
  let at = written;
  for (const key of field.split(".")) {
    const [, name, index] = /^([^[]*)(?:\[(\d+)\])?$/.exec(key) || [];
    at = at === undefined || at === null ? undefined : at[name];
    if (index !== undefined && at !== undefined) at = at[Number(index) - 1];
  }
  return at;
};
