"use strict";
// The bench page: keeps a job's text, sends what is typed, shows what comes back. The server keeps
// nothing of it; the file in the folder is the truth, and what is not saved yet stays in the tab.
(() => {
  const byId = (id) => document.getElementById(id);
  document.querySelectorAll("[data-text]").forEach((there) => { there.textContent = say(there.dataset.text); });

  // ---- asking the server ------------------------------------------------------
  class Refusal extends Error {
    constructor(error) { super(error.text); this.code = error.code; this.hints = error.hints || []; }
  }
  const failure = async (answer) => {
    const told = await answer.json().catch(() => null);
    return new Refusal(told?.error || { code: "failed", text: `${answer.status} ${answer.statusText}`, hints: [] });
  };
  const ask = async (path, body, options = {}) => {
    const headers = body === undefined ? {} : { "Content-Type": "application/json" };
    const answer = await fetch(path, {
      method: body === undefined ? "GET" : "POST", body: body === undefined ? undefined : JSON.stringify(body),
      ...options, headers: { ...headers, ...options.headers },
    });
    if (!answer.ok) throw await failure(answer);
    return answer;
  };
  const asked = async (path, body, options) => (await ask(path, body, options)).json();

  // ---- what is on the bench -----------------------------------------------------
  const page = crypto.randomUUID();
  let tables = null, written = {}, faults = [], found = null, scene = false, made = [];
  let job = { name: "", text: "", digest: null, saved: "" };
  let pending = [], past = [], future = [], edit = 0, sending = null, checking = null, lastField = "", lastTime = 0;
  let shape = "", part = 0, anew = true, view, begun = 0;
  const COALESCE_MS = 1500, CHECK_AFTER_MS = 150, MOST_UNDO = 200, KEPT_UNDO = 20;
  const dirty = () => job.text !== job.saved || pending.length > 0;
  const remember = () => {
    try { sessionStorage.setItem("job", JSON.stringify({ job, part, pending, past: past.slice(-KEPT_UNDO) })); } catch { /* a full store loses the draft only */ }
  };

  // Gives an element other children when what they show has changed: what stays need not be laid out again.
  const filled = new WeakMap();
  const fillWith = (there, what, children) => {
    const key = JSON.stringify(what);
    if (filled.get(there) === key) return;
    filled.set(there, key);
    there.replaceChildren(...children().filter(Boolean));
  };

  const change = (asked) => {
    const field = asked.set?.field;
    // Of a field that is typed into, only what it holds last counts.
    if (field) pending = pending.filter((old) => old.set?.field !== field);
    pending.push(asked);
    begun = performance.now();
    remember();
    send(field || "");
  };
  let again = false;
  const rebuild = () => { again = true; };
  // A cure is a step of its own to undo, even right after its field was typed into.
  const changeAll = (list) => list.forEach((value) => { [again, lastField] = [true, ""]; change({ set: value }); });

  // Shapes that are drawn are not sent again.
  const holds = () => view?.holds() ?? [];

  const send = async (field) => {
    sending?.abort();
    checking?.abort();
    found = null;
    const mine = sending = new AbortController(), number = ++edit, sent = pending.slice(), start = begun;
    const body = { name: job.name || say("newJob"), text: job.text, changes: sent, holds: holds() };
    state();
    try {
      const answer = await asked("api/edit", body, {
        signal: mine.signal, headers: { "bench-page": page, "bench-edit": String(number) },
      });
      if (number !== edit) return;
      keep(field, answer.text);
      pending = pending.filter((change) => !sent.includes(change));
      remember();
      take(answer);
      // What is posted in a frame comes after it: by then it is drawn, and on its way to the screen.
      const frame = new MessageChannel();
      frame.port1.onmessage = () => performance.measure("edit to picture", { start, end: performance.now() });
      if (start) requestAnimationFrame(() => frame.port2.postMessage(0));
      begun = 0;
      check(number);
    } catch (error) {
      if (error.name === "AbortError" || error.code === "overtaken") return;
      // What cannot be written into the text is not tried again with the next edit.
      if (["cannot_be_made", "bad_request"].includes(error.code)) pending = pending.filter((change) => !sent.includes(change));
      remember();
      told(error);
    }
  };

  const keep = (field, text) => {
    if (text === job.text) return;
    const now = performance.now();
    const same = field && field === lastField && now - lastTime < COALESCE_MS && past.length > 0;
    if (!same) { past.push(job.text); past = past.slice(-MOST_UNDO); }
    future = [];
    [lastField, lastTime] = [field, now];
    job.text = text;
    remember();
  };
  const swap = (from, to) => {
    if (from.length === 0) return;
    to.push(job.text);
    job.text = from.pop();
    pending = [];
    [lastField, again, begun] = ["", true, 0];
    remember();
    send("");
  };

  const check = (number) => {
    const mine = checking = new AbortController();
    if (!scene) { showFindings(); return; }
    byId("findings").setAttribute("aria-busy", "true");
    setTimeout(async () => {
      if (mine.signal.aborted) return;
      try {
        const answer = await asked("api/findings", { name: job.name || say("newJob"), text: job.text, holds: holds() }, {
          signal: mine.signal, headers: { "bench-page": page, "bench-edit": String(number) },
        });
        if (number !== edit) return;
        found = answer;
        view?.show(answer.scene, false);
        showFindings();
      } catch (error) {
        if (error.name !== "AbortError" && error.code !== "overtaken") told(error);
      }
    }, CHECK_AFTER_MS);
  };

  const open = (next, message, draft = {}) => {
    job = { digest: null, saved: "", ...next };
    [pending, past, part] = [draft.pending || [], draft.past || [], draft.part || 0];
    [future, lastField, anew, again, begun, found] = [[], "", true, true, 0, null];
    remember();
    send("");
    if (message) byId("state").textContent = message;
  };

  // ---- showing what comes back ---------------------------------------------------
  const take = (answer) => {
    faults = answer.faults;
    made = answer.bodies;
    scene = answer.scene !== null;
    if (answer.written) written = answer.written;
    if (scene && view === undefined) { view = startView(null); if (!view) byId("stage").append(el("p", {}, say("noView"))); }
    if (scene && view) { view.show(answer.scene, anew); anew = false; }
    forms();
    showFaults();
    showShown(answer.handle);
    showFindings();
    state();
  };

  const state = () => {
    byId("job-name").textContent = job.name || say("newJob");
    document.title = `${job.name || say("newJob")} - borewright`;
    const said = byId("state");
    if (dirty()) said.textContent = say("unsaved");
    // All of it was undone.
    else if (said.textContent === say("unsaved")) said.textContent = "";
    byId("undo").disabled = past.length === 0;
    byId("redo").disabled = future.length === 0;
  };

  const host = {
    change, rebuild, asked, failure, open, get tables() { return tables; }, get written() { return written; }, get job() { return job; },
    take: (file) => folder.takeMesh(file), kindOf: (p) => kindOf(p), focusOn: (field) => focusOn(field), dialog: (...what) => dialog(...what),
    told: (error) => told(error), ran: (path, body) => ran(path, body), leave: () => saving.leave(), save: () => saving.save(),
    saveAs: () => saving.saveAs(), openFile: (name) => saving.openFile(name), dirty, remember, state, get pending() { return pending; },
  };
  const form = formOf(host), folder = folderOf(host), saving = savingOf(host);

  const forms = () => {
    const next = structure(written) + part;
    if (next !== shape || again) {
      [shape, again] = [next, false];
      const active = document.activeElement?.dataset?.input, caret = document.activeElement?.selectionStart;
      const open = [...document.querySelectorAll("details[data-rest]")].filter((d) => d.open).map((d) => d.dataset.rest);
      build();
      document.querySelectorAll("details[data-rest]").forEach((d) => { if (open.includes(d.dataset.rest)) d.fill(); });
      if (active) focusOn(active, caret);
    }
    document.querySelectorAll("[data-input]").forEach((control) => {
      if (control === document.activeElement && pending.length > 0) return;
      let value = valueAt(written, control.dataset.input);
      if (value !== null && typeof value === "object") return;
      if (control.type === "checkbox") { if (value !== undefined) control.checked = value === "true"; return; }
      if (control === document.activeElement && control.tagName !== "SELECT" && !again) return;
      value = value ?? "";
      if (control.tagName === "SELECT" && value && ![...control.options].some((o) => o.value === value)) {
        control.append(el("option", { value }, value));
      }
      if (control.value !== value) control.value = value;
    });
  };

  const isComponent = (row) => row.type === "component";
  const kindOf = (p) => tables.kinds.find((kind) => kind.name === p.kind);

  const build = () => {
    const parts = Array.isArray(written.part) ? written.part : [];
    part = Math.min(part, Math.max(parts.length - 1, 0));
    const into = (id, ...children) => byId(id).querySelector(".form").replaceChildren(...children);
    into("handle", ...form.rowsOf(tables.handle, "handle", written.handle || {}));
    // What lies on the bench: printer and plastic, then what goes into each part.
    const components = parts.map((p, i) => {
      const rows = (kindOf(p)?.rows || []).filter(isComponent);
      if (rows.length === 0) return null;
      return el("fieldset", {}, el("legend", {}, p.name || words(p.kind || "")), ...form.rowsOf(rows, `part[${i + 1}]`, p));
    });
    into("print", ...form.rowsOf(tables.print.filter(isComponent), "print", written.print || {}),
      ...components.filter(Boolean), ...form.rowsOf(tables.print.filter((row) => !isComponent(row)), "print", written.print || {}));
    into("more", ...tables.optional.map((row) => form.one(row, row.key, written[row.key])));
    tabs(parts);
    const shown = parts[part], kind = shown && kindOf(shown);
    byId("part-form").replaceChildren();
    if (shown) {
      const at = `part[${part + 1}]`;
      const about = kind ? el("p", { className: "summary" }, kind.summary) : null;
      const name = tables.part.find((row) => row.key === "name");
      const others = tables.part.filter((row) => row.key === "kind" && !kind);
      const tablesOf = kind ? tables.part.filter((row) => row.type === "table" && !kind.rows.some((own) => own.key === row.key)) : [];
      byId("part-form").append(el("div", { data: { field: at } }, about, el("div", { className: "faults" })),
        ...[...others, name].map((row) => form.one(row, `${at}.${row.key}`, shown[row.key])),
        ...(kind ? form.rowsOf([...kind.rows.filter((row) => !isComponent(row)), ...tablesOf], at, shown) : []),
        el("p", { className: "row" }, el("button", { type: "button", className: "quiet",
          onclick: () => change({ remove: at }) }, say("removePart"))));
    }
    const select = el("select", { id: "new-kind", onchange: () => {
      if (!select.value) return;
      part = parts.length;
      change({ part: select.value });
    } }, el("option", { value: "" }, say("addPart")),
      ...tables.kinds.map((k) => el("option", { value: k.name, title: k.summary }, words(k.name))));
    select.setAttribute("aria-label", say("addPart"));
    byId("add-part").replaceChildren(select);
  };

  const tabs = (parts) => {
    const show = (i) => { part = i; again = true; forms(); showFaults(); remember(); byId("part-tabs").children[i]?.focus(); };
    const buttons = parts.map((p, i) => el("button", {
      type: "button", role: "tab", tabIndex: i === part ? 0 : -1, id: `tab-${i}`, data: { part: String(i + 1) },
      aria: { selected: String(i === part), controls: "part-form" }, onclick: () => show(i),
      onkeydown: (e) => {
        const step = { ArrowRight: 1, ArrowLeft: -1 }[e.key];
        if (step) { e.preventDefault(); show((i + step + parts.length) % parts.length); }
      },
    }, p.name || words(p.kind || "")));
    byId("part-tabs").replaceChildren(...buttons);
    byId("part-form").setAttribute("aria-labelledby", `tab-${part}`);
  };

  // The element of a field, or of what is around it; opens what hides it.
  const reveal = (path) => {
    const of = /^part\[(\d+)\]/.exec(path);
    if (of && Number(of[1]) - 1 !== part && Number(of[1]) <= (written.part || []).length) { part = Number(of[1]) - 1; again = true; forms(); showFaults(); }
    for (let at = path; at; at = at.includes(".") ? at.slice(0, at.lastIndexOf(".")) : "") {
      document.querySelectorAll("details[data-rest]").forEach((d) => { if (d.holds.includes(at)) d.fill(); });
      const there = document.querySelector(`[data-field="${CSS.escape(at)}"]`);
      if (there) {
        for (let d = there.closest("details"); d; d = d.parentElement.closest("details")) d.open = true;
        return there;
      }
    }
    return null;
  };
  const focusOn = (path, caret) => {
    const there = reveal(path);
    const control = there?.querySelector("[data-input], button") || there;
    control?.scrollIntoView({ block: "nearest" });
    control?.focus();
    if (caret !== undefined && caret !== null && control?.setSelectionRange && control.type === "text") control.setSelectionRange(caret, caret);
  };

  // Buttons that apply what a hint says.
  const cures = (list, own) => {
    const buttons = list.map((changes) => {
      const text = changes.map(({ field, value }) =>
        value === "" ? say("leaveOut") : field === own ? say("apply", { value }) : say("applyAt", { what: fieldName(field), value })).join(", ");
      return el("button", { type: "button", className: "cure", onclick: () => changeAll(changes) }, text);
    });
    return buttons.length > 0 ? el("p", { className: "row" }, ...buttons) : null;
  };

  const faultText = (fault) => el("div", { className: "fault" }, el("p", {}, fault.text),
    ...fault.hints.map((text) => el("p", { className: "hint" }, say("hint", { text }))), cures(fault.cures, fault.field));

  const showFaults = () => {
    document.querySelectorAll(".faults").forEach((there) => there.replaceChildren());
    document.querySelectorAll("[aria-invalid]").forEach((there) => there.removeAttribute("aria-invalid"));
    document.querySelectorAll(".open-yet").forEach((there) => there.classList.remove("open-yet"));
    const open = faults.filter((fault) => ["not_filled_in", "missing"].includes(fault.code) && fault.field);
    const wrong = faults.filter((fault) => !open.includes(fault));
    for (const fault of wrong) {
      const there = document.querySelector(`[data-field="${CSS.escape(fault.field.replace(/\.profile$|\[\d+\]$/, ""))}"]`)
        || document.querySelector(`[data-field="${CSS.escape(fault.field)}"]`);
      there?.querySelector(":scope > .faults")?.append(faultText(fault));
      there?.querySelector(":scope [data-input]")?.setAttribute("aria-invalid", "true");
    }
    for (const fault of open) {
      const there = document.querySelector(`[data-field="${CSS.escape(fault.field)}"]`);
      there?.querySelector("[data-input]")?.classList.add("open-yet");
      const offered = cures(fault.cures, fault.field);
      if (offered) there?.querySelector(":scope > .faults")?.append(offered);
    }
    const jump = (fault) => el("li", {}, fault.field
      ? el("button", { type: "button", className: "link", onclick: () => focusOn(fault.field) }, place(fault.field))
      : null, wrong.includes(fault) ? faultText(fault) : null);
    const part = (key, list) => list.length === 0 ? null
      : el("div", { className: key }, el("h3", {}, say(key, { n: list.length })), el("ul", {}, ...list.map(jump)));
    fillWith(byId("faults"), [wrong, open, faults.map((fault) => place(fault.field))], () => [part("wrong", wrong), part("toMeasure", open)]);
  };
  // "tray: cover wall" of part[1].cover_wall.
  const place = (field) => {
    const of = /^part\[(\d+)\](\.|$)/.exec(field), own = of && (written.part || [])[Number(of[1]) - 1];
    const owner = own ? own.name || words(own.kind || "") : words(field.split(".")[0]);
    return field.includes(".") ? `${owner}: ${fieldName(field)}` : owner;
  };

  const short = (value, digits = 2) => Number(value.toFixed(digits)).toString();
  const showShown = (handle) => {
    const lines = made.map((b) => say("body", {
      name: b.name, x: short(b.size[0]), y: short(b.size[1]), z: short(b.size[2]), mass: short(b.mass) }));
    if (handle) lines.unshift(say("bore", { smallest: short(handle.smallest), largest: short(handle.largest), sure: short(handle.sure) }));
    if (!scene) lines.length = 0;
    const text = scene ? say("checking") : say(anew ? "waitsForMeasures" : "lastMade");
    byId("verdict").textContent = text;
    byId("verdict").className = "quiet";
    fillWith(byId("shown"), lines, () => (lines.length === 0 ? [] : [el("ul", { className: "bodies" }, ...lines.map((line) => el("li", {}, line)))]));
    byId("stage").classList.toggle("stale", !scene);
  };

  const finding = (f) => {
    const pin = f.pin ? el("button", { type: "button", className: "pin", data: { pin: String(f.pin) },
      aria: { label: say("showPlace", { n: f.pin }) } }, String(f.pin)) : null;
    const go = el("button", { type: "button", className: "link", onclick: () => focusOn(f.field) }, say("goTo", { what: place(f.field) }));
    const allow = f.blocks ? el("button", { type: "button", className: "quiet", onclick: () => allowance(f) }, say("allow")) : null;
    return el("li", { data: { kind: f.severity } }, el("p", {}, pin, pin ? " " : "", el("strong", {}, `${f.severity} ${f.check}`),
      ` ${f.body}: ${f.text}`), f.hint ? el("p", { className: "hint" }, say("hint", { text: f.hint })) : null,
      f.allowed ? el("p", { className: "hint" }, say("allowed", { text: f.allowed })) : null, cures(f.cures, ""),
      el("p", { className: "row" }, go, allow));
  };
  const allowance = (f) => {
    const why = el("input", { type: "text", maxLength: 400, id: "allow-why" });
    dialog(say("allow"), el("p", {}, f.text), el("label", { for: "allow-why" }, say("allowWhy")), why,
      el("p", { className: "row" }, el("button", { type: "button", onclick: () => {
        if (!why.value.trim()) { why.focus(); return; }
        const at = `print.allow[${(written.print?.allow || []).length + 1}]`;
        again = true;
        change({ add: "print.allow" });
        for (const [key, value] of [["check", f.check], ["body", f.body], ["reason", why.value]]) change({ set: { field: `${at}.${key}`, value } });
        byId("dialog").close();
      } }, say("saveNow"))));
    why.focus();
  };

  const showFindings = () => {
    const out = byId("findings"), area = document.querySelector("#job-text textarea");
    if (area && area !== document.activeElement) area.value = job.text;
    out.setAttribute("aria-busy", String(scene && !found));
    const seen = new Set(), minds = made.flatMap((b) => b.messages.filter((m) => m.severity !== "note"
      && !seen.has(m.text) && seen.add(m.text)).map((m) => ({ ...m, body: b.name })));
    const mind = () => minds.length === 0 ? null : el("div", {}, el("h3", {}, say("toMind")), el("ul", { className: "items" },
      ...minds.map((m) => el("li", { data: { kind: m.severity } }, el("p", {}, el("strong", {}, m.severity), ` ${m.body}: ${m.text}`),
        m.hint ? el("p", { className: "hint" }, m.hint) : null))));
    if (!scene || !found) {
      fillWith(out, minds, () => [mind()]);
      fillWith(byId("outputs"), null, () => [el("h3", {}, say("outputsTitle")), el("p", { className: "quiet" }, say("outputsAfter")), textBox()]);
      return;
    }
    const group = (key, list, open) => {
      if (list.length === 0) return null;
      return el("details", { open }, el("summary", {}, say(key, { n: list.length })), el("ul", { className: "items" }, ...list.map(finding)));
    };
    const of = (severity) => found.findings.filter((f) => f.severity === severity);
    byId("verdict").textContent = `${found.verdict}.`;
    byId("verdict").className = "verdict";
    byId("verdict").dataset.blocked = String(found.blocked);
    fillWith(out, [found.findings, minds], () => [group("errors", of("error"), true), group("warnings", of("warning"), true), mind(),
      group("notes", of("note"), false), found.findings.length === 0 ? el("p", {}, say("nothingFound")) : null]);
    fillWith(byId("outputs"), [found.outputs, job.name], showOutputs);
  };

  // ---- files ----------------------------------------------------------------------
  const download = async (output) => {
    try {
      const answer = await ask("api/output", { name: job.name || say("newJob"), text: job.text, output });
      const address = URL.createObjectURL(await answer.blob());
      const link = el("a", { href: address, download: output });
      document.body.append(link);
      link.click();
      link.remove();
      setTimeout(() => URL.revokeObjectURL(address), 60000);
    } catch (error) { told(error); }
  };
  const showOutputs = () => {
    const names = [...new Set(found.outputs.filter((o) => o.body).map((o) => o.body))];
    const button = (o, text) => el("button", { type: "button", data: { output: o.name }, onclick: () => download(o.name),
      aria: { label: o.name } }, text);
    const rows = names.map((name) => el("p", { className: "row" }, el("span", {}, say("outputsOf", { name })),
      ...found.outputs.filter((o) => o.body === name).map((o) => button(o, o.name.slice(name.length + 1).toUpperCase()))));
    const whole = found.outputs.filter((o) => !o.body).map((o) => el("p", { className: "row" }, button(o, o.name), el("span", { className: "quiet" }, o.what)));
    return [el("h3", {}, say("outputsTitle")), ...rows, ...whole,
      el("p", { className: "row" }, el("button", { type: "button", id: "write-all", onclick: writeAll }, say("writeAll"))), folder.variantsBox(), textBox()];
  };
  const writeAll = async () => {
    if (!await saving.save()) return;
    await ran("api/make", { name: job.name });
  };
  const textBox = () => {
    const area = el("textarea", { value: job.text, rows: 16, spellcheck: false, aria: { label: say("textTitle") } });
    return el("details", { id: "job-text", ontoggle: () => { area.value = job.text; } }, el("summary", {}, say("textTitle")), area,
      el("p", { className: "row" }, el("button", { type: "button", onclick: () => {
        past.push(job.text);
        [job.text, pending, again, future] = [area.value, [], true, []];
        remember();
        send("");
      } }, say("textApply"))));
  };

  // ---- dialogs --------------------------------------------------------------------------
  const dialog = (title, ...children) => {
    byId("dialog-title").textContent = title;
    byId("dialog-body").replaceChildren(...children);
    if (!byId("dialog").open) byId("dialog").showModal();
  };
  byId("dialog-close").addEventListener("click", () => byId("dialog").close());
  const told = (error) => {
    if (!(error instanceof Refusal)) {
      const text = el("textarea", { value: job.text, rows: 14, readOnly: true, aria: { label: say("textTitle") } });
      dialog(say("notRanTitle"), el("p", {}, say("gone")), text);
      return;
    }
    const text = say("failed", { text: error.message });
    dialog(say("notRanTitle"), el("p", {}, text), ...(error.hints || []).map((hint) => el("p", { className: "hint" }, say("hint", { text: hint }))));
  };
  const ran = async (path, body) => {
    dialog(say("working"), el("p", { role: "status" }, say("working")));
    try {
      const done = await asked(path, body);
      // 3: not all of it, or with errors that the checks found.
      const title = { 0: "ranTitle", 3: "ranWithErrorsTitle" }[done.exit] ?? "notRanTitle";
      dialog(say(title), el("pre", {}, done.out + (done.err ? `\n${done.err}` : "")));
    } catch (error) { told(error); }
  };

  // ---- files that are dropped ----------------------------------------------------------------
  let over = 0;
  addEventListener("dragenter", (e) => { e.preventDefault(); over += 1; byId("drop").hidden = false; });
  addEventListener("dragleave", () => { over -= 1; if (over <= 0) byId("drop").hidden = true; });
  addEventListener("dragover", (e) => e.preventDefault());
  addEventListener("drop", (e) => {
    e.preventDefault();
    over = 0;
    byId("drop").hidden = true;
    if (e.dataTransfer.files[0]) folder.dropped(e.dataTransfer.files[0]);
  });

  // ---- start ------------------------------------------------------------------------------------
  // How the field in use is measured: beside the forms, so that nothing moves under the pointer.
  const measuring = (at) => {
    const word = at?.matches?.("[data-input]") ? at.closest("[data-field]")?.dataset.measured : null;
    const figures = [...byId("measuring").children];
    for (const figure of figures) figure.hidden = figure.dataset.method !== word;
    byId("measuring").hidden = figures.every((figure) => figure.hidden);
  };
  addEventListener("focusin", (e) => measuring(e.target));
  addEventListener("focusout", () => measuring(null));
  byId("undo").addEventListener("click", () => swap(past, future));
  byId("redo").addEventListener("click", () => swap(future, past));
  byId("save").addEventListener("click", saving.save);
  byId("save-as").addEventListener("click", saving.saveAs);
  byId("jobs").addEventListener("click", () => folder.jobsBox().catch(told));
  addEventListener("keydown", (e) => {
    if (!(e.ctrlKey || e.metaKey) || byId("dialog").open) return;
    const typing = ["INPUT", "TEXTAREA"].includes(document.activeElement?.tagName);
    const key = e.key.toLowerCase();
    if (key === "s") { e.preventDefault(); saving.save(); }
    // Fields keep their own undo of what is being typed; the job's is for all else.
    else if (key === "z" && !typing) { e.preventDefault(); if (e.shiftKey) swap(future, past); else swap(past, future); }
  });
  addEventListener("beforeunload", (e) => { if (job.text && dirty()) e.preventDefault(); });
  (async () => {
    try {
      tables = await asked("api/tables");
      const draft = JSON.parse(sessionStorage.getItem("job") || "null");
      if (draft?.job?.text) open(draft.job, "", draft);
      else await folder.jobsBox();
    } catch (error) { told(error); }
  })();
})();
