"use strict";
// Saving a job to the folder and opening another, without losing what is on the bench.
// `bench` has `job`, `written`, `pending`, `dirty()`, `remember()`, `state()`, `asked(path, body)`,
// `open(job, message)`, `dialog(title, ...)` and `told(error)`.
const savingOf = (bench) => {
  const byId = (id) => document.getElementById(id);
  const settled = async () => {
    // What was typed last is in the text once the server has answered.
    for (let i = 0; i < 100 && bench.pending.length > 0; i++) await new Promise((done) => setTimeout(done, 50));
  };
  const save = async () => {
    if (!bench.job.name) return saveAs();
    await settled();
    try {
      const text = bench.job.text;
      const done = await bench.asked("api/save", { name: bench.job.name, text, was: bench.job.digest });
      [bench.job.digest, bench.job.saved] = [done.digest, text];
      bench.remember();
      bench.state();
      byId("state").textContent = say("saved", { n: done.version });
      return true;
    } catch (error) {
      bench.told(error);
      return false;
    }
  };
  const saveAs = () => new Promise((done) => {
    const stem = (bench.job.name || "job.toml").replace(/\.toml$/, "");
    const name = el("input", { type: "text", id: "file-name", value: bench.job.name ? `${stem}-2` : slug(bench.written.handle?.name) || stem });
    const problem = el("p", { className: "fault", role: "alert" });
    const go = async () => {
      const before = { name: bench.job.name, digest: bench.job.digest };
      await settled();
      const file = name.value.trim().replace(/\.toml$/, "") + ".toml", text = bench.job.text;
      try {
        const saved = await bench.asked("api/save", { name: file, text, was: null });
        Object.assign(bench.job, { name: file, digest: saved.digest, saved: text });
        bench.remember();
        bench.state();
        byId("state").textContent = say("saved", { n: saved.version });
        byId("dialog").close();
        done(true);
      } catch (error) {
        Object.assign(bench.job, before);
        problem.textContent = [error.message, ...error.hints || []].join("; ");
        name.focus();
      }
    };
    bench.dialog(say("saveAsTitle"), el("form", { method: "dialog", onsubmit: (e) => { e.preventDefault(); go(); } },
      el("label", { for: "file-name" }, say("fileName")), name, problem,
      el("p", { className: "row" }, el("button", { type: "submit", id: "save-now" }, say("saveNow")))));
    name.focus();
    byId("dialog").addEventListener("close", () => done(false), { once: true });
  });
  const slug = (text) => (text || "").toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "").slice(0, 40);

  const leave = () => new Promise((done) => {
    if (!bench.dirty() || !bench.job.text) { done(true); return; }
    bench.dialog(bench.job.name || say("newJob"), el("p", {}, say("replace")), el("p", { className: "row" },
      el("button", { type: "button", id: "go-on", onclick: () => { done(true); byId("dialog").close(); } }, say("goOn"))));
    byId("dialog").addEventListener("close", () => done(false), { once: true });
  });
  const openFile = async (name) => {
    if (!await leave()) return;
    try {
      const file = await bench.asked("api/open", { name });
      byId("dialog").close();
      bench.open({ name, text: file.text, digest: file.digest, saved: file.text }, say("opened"));
    } catch (error) { bench.told(error); }
  };

  return { save, saveAs, leave, openFile };
};
