"use strict";
// What lies in the chosen folder: jobs, their versions and variants, meshes. `bench` is the page, as
// bench.js hands it over.
const folderOf = (bench) => {
  const byId = (id) => document.getElementById(id);

  const startBox = () => {
    const boxes = bench.tables.kinds.map((kind) => el("li", {}, el("label", {}, el("input", { type: "checkbox", value: kind.name }),
      el("strong", {}, ` ${words(kind.name)}`), el("span", { className: "quiet" }, ` ${kind.summary}`))));
    const list = el("ul", { className: "kinds" }, ...boxes);
    const go = async () => {
      const kinds = [...list.querySelectorAll("input:checked")].map((box) => box.value);
      if (kinds.length === 0) { list.querySelector("input").focus(); return; }
      if (!await bench.leave()) return;
      try {
        const made = await bench.asked("api/new", { kinds });
        byId("dialog").close();
        bench.open({ name: "", text: made.text });
      } catch (error) { bench.told(error); }
    };
    return el("div", {}, el("h3", {}, say("startTitle")), list,
      el("p", { className: "row" }, el("button", { type: "button", id: "begin", onclick: go }, say("startOne"))));
  };

  const jobsBox = async () => {
    const listed = await bench.asked("api/files");
    const [jobs, tables, meshes] = ["job", "variants", "mesh"].map((kind) => listed.files.filter((f) => f.kind === kind));
    const chosen = () => [...byId("dialog-body").querySelectorAll("input.chosen:checked")].map((box) => box.value);
    const row = (f) => el("li", { data: { file: f.name } },
      el("input", { type: "checkbox", className: "chosen", value: f.name, aria: { label: say("select", { name: f.name }) } }),
      el("span", { className: "grow" }, f.name),
      el("button", { type: "button", onclick: () => bench.openFile(f.name) }, say("openOne")),
      el("button", { type: "button", onclick: async () => { await bench.openFile(f.name); if (bench.job.name === f.name) bench.saveAs(); } }, say("duplicate")),
      el("button", { type: "button", onclick: () => versions(f.name) }, say("versions")));
    const copies = el("input", { type: "number", id: "copies", min: "1", max: "100", value: "1" });
    const tools = jobs.length === 0 ? el("p", {}, say("noJobs")) : el("p", { className: "row" }, el("span", {}, say("selected")),
      el("label", { for: "copies" }, say("copies")), copies,
      el("button", { type: "button", id: "plates", onclick: () => bench.ran("api/plate", { names: chosen(), copies: Number(copies.value) || 1 }) }, say("plates")),
      el("button", { type: "button", id: "make-all", onclick: () => bench.ran("api/batch", { names: chosen() }) }, say("makeAll")));
    const table = (f) => el("li", { data: { file: f.name } }, el("span", { className: "grow" }, f.name),
      el("button", { type: "button", onclick: () => bench.ran("api/batch", { names: [f.name] }) }, say("makeVariants")));
    const mesh = (f) => el("li", { data: { file: f.name } }, el("span", { className: "grow" }, f.name),
      el("button", { type: "button", onclick: () => bench.ran("api/survey", { name: f.name }) }, say("survey")));
    bench.dialog(say("jobsTitle", { folder: listed.folder }), startBox(), el("ul", { className: "files" }, ...jobs.map(row)), tools,
      ...(tables.length > 0 ? [el("h3", {}, say("tablesTitle")), el("ul", { className: "files" }, ...tables.map(table))] : []),
      ...(meshes.length > 0 ? [el("h3", {}, say("meshesTitle")), el("ul", { className: "files" }, ...meshes.map(mesh))] : []));
  };
  const versions = async (name) => {
    try {
      const kept = await bench.asked("api/versions", { name });
      const row = (v) => el("li", {}, el("span", { className: "grow" }, say("version", { n: v.number, when: new Date(1000 * v.changed).toLocaleString() })),
        el("button", { type: "button", onclick: async () => {
          if (!await bench.leave()) return;
          const old = await bench.asked("api/version", { name, number: v.number }), now = await bench.asked("api/open", { name });
          byId("dialog").close();
          bench.open({ name, text: old.text, digest: now.digest, saved: now.text });
        } }, say("openOne")));
      bench.dialog(say("versionsOf", { name }), kept.versions.length === 0 ? el("p", {}, say("noVersions"))
        : el("ul", { className: "files" }, ...kept.versions.map(row)));
    } catch (error) { bench.told(error); }
  };

  // ---- variants ----------------------------------------------------------------
  // Fields with their values, as they are typed; the box is built anew after each edit.
  let varied = [{ field: "", values: "" }], varying = false;
  const VARIED = ["number", "integer", "choice", "flag"];
  const fieldsOf = () => {
    const named = (rows, path) => rows.filter((row) => VARIED.includes(row.type)).map((row) => `${path}.${row.key}`);
    // What is written deeper down, as the switches of a plate.
    const deeper = (value, path, depth) => Object.entries(value).flatMap(([key, inner]) => {
      if (Array.isArray(inner)) return inner.flatMap((item, i) => deeper(item, `${path}.${key}[${i + 1}]`, depth + 1));
      if (inner !== null && typeof inner === "object") return deeper(inner, `${path}.${key}`, depth + 1);
      return depth > 0 && key !== "profile" ? [`${path}.${key}`] : [];
    });
    const parts = (bench.written.part || []).map((p, i) => [p.name || words(p.kind || ""), [
      ...named(bench.kindOf(p)?.rows || [], `part[${i + 1}]`), ...deeper(p, `part[${i + 1}]`, 0)]]);
    return [[say("handleTitle"), named(bench.tables.handle, "handle")], [say("printTitle"), named(bench.tables.print, "print")], ...parts];
  };
  const variantsBox = () => {
    const fields = fieldsOf();
    const line = (one, i) => {
      const groups = fields.map(([label, list]) => el("optgroup", { label }, ...list.map((field) => el("option", { value: field }, fieldName(field)))));
      const select = el("select", { aria: { label: say("variedField", { n: i + 1 }) }, onchange: () => { one.field = select.value; } },
        el("option", { value: "" }, say("choose")), ...groups);
      select.value = one.field;
      const values = el("input", { type: "text", value: one.values, placeholder: say("variedValues"), spellcheck: false,
        aria: { label: say("variedValuesOf", { n: i + 1 }) }, oninput: () => { one.values = values.value; } });
      return el("p", { className: "row varied" }, select, values);
    };
    const lines = el("div", {}, ...varied.map(line));
    const more = () => { varied.push({ field: "", values: "" }); lines.append(line(varied.at(-1), varied.length - 1)); lines.lastChild.querySelector("select").focus(); };
    return el("details", { id: "variants", open: varying, ontoggle: (e) => { varying = e.target.open; } },
      el("summary", {}, say("variantsTitle")), el("p", { className: "meaning" }, say("variantsWhy")), lines,
      el("p", { className: "row" }, el("button", { type: "button", id: "another-field", onclick: more }, say("anotherField")),
        el("button", { type: "button", id: "make-variants", onclick: makeVariants }, say("makeVariants"))));
  };
  const makeVariants = async () => {
    const fields = varied.filter((one) => one.field);
    if (fields.length === 0) { byId("variants").querySelector("select").focus(); return; }
    if (!await bench.save()) return;
    try {
      const made = await bench.asked("api/vary", { base: bench.job.name, text: bench.job.text, fields });
      const name = `${bench.job.name.replace(/\.toml$/, "")}-variants.toml`;
      const listed = await bench.asked("api/files"), there = listed.files.some((f) => f.name === name);
      const was = there ? (await bench.asked("api/open", { name })).digest : null;
      await bench.asked("api/save", { name, text: made.text, was });
      await bench.ran("api/batch", { names: [name] });
    } catch (error) { bench.told(error); }
  };

  // ---- meshes ------------------------------------------------------------------
  const MOST_NAMES = 9;
  const takeMesh = async (file) => {
    const dot = file.name.lastIndexOf("."), plain = (text) => text.replace(/[^\p{L}\p{N} _.()+-]+/gu, "_").replace(/^[^\p{L}\p{N}_(]+/u, "");
    for (let i = 1; i <= MOST_NAMES; i++) {
      const name = `${plain(file.name.slice(0, dot))}${i > 1 ? `-${i}` : ""}${file.name.slice(dot).toLowerCase()}`;
      try {
        const answer = await fetch(`api/mesh?name=${encodeURIComponent(name)}`, {
          method: "POST", body: file, headers: { "Content-Type": "application/octet-stream" } });
        if (!answer.ok) throw await bench.failure(answer);
        return name;
      } catch (error) {
        if (error.code === "changed_meanwhile" && i < MOST_NAMES) continue;
        bench.told(error);
        return null;
      }
    }
    return null;
  };
  const fileRows = (rows, path, ending, out = []) => {
    for (const row of rows) {
      if (row.type === "file" && row.endings.includes(ending)) out.push({ field: `${path}.${row.key}`, row });
      if (row.type === "table") fileRows(row.rows, `${path}.${row.key}`, ending, out);
    }
    return out;
  };
  const dropped = async (file) => {
    const ending = file.name.split(".").pop().toLowerCase();
    if (ending === "toml") {
      if (!await bench.leave()) return;
      bench.open({ name: "", text: await file.text() });
      return;
    }
    const name = await takeMesh(file);
    if (!name) return;
    const uses = (bench.written.part || []).flatMap((p, i) => fileRows(bench.kindOf(p)?.rows || [], `part[${i + 1}]`, ending)
      .map(({ field, row }) => el("button", { type: "button", onclick: () => {
        bench.rebuild();
        bench.change({ set: { field, value: name } });
        byId("dialog").close();
        bench.focusOn(field);
      } }, say("useAs", { what: words(row.key), part: p.name || words(p.kind) }))));
    const survey = ["stl", "3mf", "obj"].includes(ending)
      ? [el("button", { type: "button", onclick: () => bench.ran("api/survey", { name }) }, say("survey"))] : [];
    bench.dialog(say("meshTitle", { name }), el("p", { className: "row" }, ...uses, ...survey));
  };

  return { jobsBox, takeMesh, dropped, variantsBox };
};
