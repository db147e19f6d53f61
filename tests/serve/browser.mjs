// Plays a scene on the bench page: node browser.mjs SCENE ADDRESS FOLDER PICTURES MODULES.
import assert from "node:assert/strict";
import fs from "node:fs";
import path from "node:path";
import { createRequire } from "node:module";
import { alike } from "../page/alike.mjs";

const [scene, address, folder, pictures, modules] = process.argv.slice(2);
const { chromium } = createRequire(path.join(modules, "x"))("playwright-core");
const PATIENCE = 240000;
const browser = await chromium.launch({
  executablePath: process.env.BOREWRIGHT_CHROMIUM || "/usr/bin/chromium",
  // WebGL in software where there is no other; the page itself is put together as the browser does by itself.
  args: ["--no-sandbox", "--enable-unsafe-swiftshader"],
});
const context = await browser.newContext({ viewport: { width: 1600, height: 1000 }, acceptDownloads: true });
const faults = [];
const opened = async () => {
  const page = await context.newPage();
  page.setDefaultTimeout(PATIENCE);
  page.on("pageerror", (e) => faults.push(`page error: ${e.message}`));
  page.on("console", (m) => {
    // Refusals are answers; the browser also notes them.
    if (m.type() === "error" && !/status of 4(09|22)/.test(m.text())) faults.push(`console: ${m.text()}`);
  });
  page.on("request", (r) => { if (!r.url().startsWith(address) && !/^(data|blob):/.test(r.url())) faults.push(`asked for ${r.url()}`); });
  page.on("dialog", (d) => d.accept());
  if (process.env.BOREWRIGHT_PAGE_FILES) {
    for (const file of fs.readdirSync(process.env.BOREWRIGHT_PAGE_FILES).filter((name) => name.endsWith(".js"))) {
      await page.route(`**/${file}`, (r) => r.fulfill({ path: path.join(process.env.BOREWRIGHT_PAGE_FILES, file), contentType: "text/javascript" }));
    }
  }
  await page.goto(address);
  return page;
};
let shots = 0;
const shot = async (page, name) => {
  shots += 1;
  await page.screenshot({ path: path.join(pictures, `${scene}-${shots}-${name}.png`) });
};
const input = (page, field) => page.locator(`[data-input="${field}"]`);
const type = async (page, field, value) => {
  const control = input(page, field);
  await reach(page, field);
  if (await control.evaluate((c) => c.tagName) === "SELECT") await control.selectOption(value);
  else await control.fill(value);
};
// Opens what hides a field, as a person would.
const reach = async (page, field) => {
  const there = page.locator(`[data-input="${field}"], [data-add="${field}"]`).first();
  for (let i = 0; i < 6 && !await there.isVisible(); i++) {
    const closed = await page.evaluateHandle((f) => {
      const there = document.querySelector(`[data-input="${CSS.escape(f)}"], [data-add="${CSS.escape(f)}"]`);
      let outermost = null;
      for (let d = there?.closest("details"); d; d = d.parentElement.closest("details")) if (!d.open) outermost = d;
      return (outermost || [...document.querySelectorAll("details[data-rest]")].find((d) => !d.open && d.holds.some((h) => f === h || f.startsWith(`${h}.`) || f.startsWith(`${h}[`))))?.querySelector("summary") || null;
    }, field);
    // A form that is built anew meanwhile has another summary.
    if (closed.asElement()) await closed.asElement().click({ timeout: 3000 }).catch(() => {});
    else await page.waitForTimeout(200);
  }
  await there.waitFor({ state: "attached" });
};
const settled = (page) => page.waitForFunction(() => document.querySelector("#verdict.verdict") !== null
  && document.getElementById("findings").getAttribute("aria-busy") === "false", null, { timeout: PATIENCE });
const begin = async (page, kinds) => {
  await page.locator("#begin").waitFor();
  for (const kind of kinds) await page.locator(`.kinds input[value="${kind}"]`).check();
  await page.locator("#begin").click();
  await page.locator('[data-input="handle.name"]').waitFor();
};
const fill = async (page, values) => {
  for (const [field, value] of Object.entries(values)) await type(page, field, value);
};
const HANDLE = { "handle.name": "Tide-caller's sceptre", "handle.bore": "31.42, 31.36, 31.44, 31.38", "handle.length": "164" };
const PRINT = { "print.printer": "fdm-medium", "print.material": "petg" };
const saveAs = async (page, name) => {
  await page.locator("#save-as").click();
  await page.locator("#file-name").fill(name);
  await page.locator("#save-now").click();
  await page.waitForFunction((n) => document.getElementById("job-name").textContent === `${n}.toml`, name);
};
const downloads = async (page, names) => {
  for (const name of names) {
    const [file] = await Promise.all([page.waitForEvent("download"), page.locator(`[data-output="${name}"]`).click()]);
    const kept = path.join(folder, "downloads", name);
    await file.saveAs(kept);
    const bytes = fs.readFileSync(kept);
    assert.equal(file.suggestedFilename(), name);
    assert.ok(bytes.length > 300, `${name}: ${bytes.length} bytes`);
    if (name.endsWith(".step")) assert.ok(bytes.toString().startsWith("ISO-10303-21"), name);
    if (name.endsWith(".stl")) assert.equal(bytes.length, 84 + 50 * bytes.readUInt32LE(80), name);
    if (name.endsWith(".zip") || name.endsWith(".3mf")) assert.equal(bytes.subarray(0, 2).toString(), "PK", name);
  }
};
// A new user's way from an empty page to files in hand.
const make = async (kind, values, body) => {
  const page = await opened();
  await shot(page, "start");
  await begin(page, [kind]);
  await page.locator("#faults .toMeasure li").first().waitFor();
  await shot(page, "to-measure");
  await fill(page, { ...HANDLE, ...PRINT });
  await shot(page, "handle");
  for (const step of values) {
    if (step.add) {
      await reach(page, step.add);
      await page.locator(`[data-add="${step.add}"]`).first().click();
      await page.locator(`[data-input^="${step.add}[${step.number}]"]`).first().waitFor();
    } else if (step.leaveOut) {
      await page.locator(`[data-field="${step.leaveOut}"] .cure`).click();
      await page.waitForFunction((f) => !document.querySelector(`[data-field="${CSS.escape(f)}"] .cure`), step.leaveOut);
    } else await fill(page, step);
  }
  await page.locator("#shown .bodies").waitFor();
  await settled(page);
  await page.waitForTimeout(200);
  await shot(page, "made");
  assert.equal(await page.locator("#faults .fault").count(), 0);
  await saveAs(page, kind.replaceAll("_", "-"));
  const outputs = await page.locator("[data-output]").evaluateAll((all) => all.map((b) => b.dataset.output));
  for (const wanted of [`${body}.stl`, `${body}.step`, `${body}.3mf`, "report.html", "all.zip"]) assert.ok(outputs.includes(wanted), `${wanted} of ${outputs}`);
  await downloads(page, [`${body}.stl`, `${body}.step`, `${body}.3mf`, "report.html", "all.zip"]);
  await page.locator("#write-all").click();
  await page.locator("#dialog pre").waitFor();
  await shot(page, "written");
  const stem = kind.replaceAll("_", "-");
  assert.ok(fs.existsSync(path.join(folder, "prints", stem, `${body}.stl`)));
  assert.ok(fs.existsSync(path.join(folder, "versions", stem, "0001.toml")));
  const text = fs.readFileSync(path.join(folder, `${stem}.toml`), "utf8");
  assert.ok(text.includes("# What you call the handle"), "comments of the template stay");
  await page.locator("#dialog-close").click();
  await page.emulateMedia({ colorScheme: "dark" });
  await page.setViewportSize({ width: 1100, height: 900 });
  await page.waitForTimeout(300);
  await shot(page, "dark");
  await page.setViewportSize({ width: 420, height: 900 });
  await page.waitForTimeout(300);
  await shot(page, "narrow");
};

const scenes = {
  cradle: () => {
    // A new job has two stations to be filled in.
    const station = (n, at, width, height) => [...(n > 2 ? [{ add: "part[1].station", number: n }] : []), {
      [`part[1].station[${n}].at`]: String(at), [`part[1].station[${n}].section`]: "hexagon",
      [`part[1].station[${n}].width`]: String(width), [`part[1].station[${n}].height`]: String(height) }];
    return make("crystal_cradle", [{ "part[1].pixel": "round-10" },
      ...station(1, 0, 18, 16.5), ...station(2, 30, 16, 15), ...station(3, 44, 13, 12)], "crystal-cradle");
  },
  plate: () => make("switch_plate", [{ "handle.outside": "38.1" },
    { "part[1].plunger[1].z": "58", "part[1].plunger[1].depth": "5.6", "part[1].plunger[1].diameter": "5",
      "part[1].plunger[1].travel": "2.2", "part[1].plunger[1].switch": "6x6-h5.0" },
    { leaveOut: "part[1].plunger[1].tip" }], "switch-plate"),
  tray: () => make("cell_tray", [{ "part[1].cell": "18650", "part[1].positive": "front" }], "cell-tray"),

  nonsense: async () => {
    const page = await opened();
    await page.locator('[data-file="lamplighters-rod.toml"] button').first().click();
    await page.locator("#shown .bodies").waitFor();
    const fields = await page.evaluate(async () => {
      document.querySelectorAll("details[data-rest]").forEach((d) => d.fill());
      await new Promise((done) => setTimeout(done, 300));
      return [...document.querySelectorAll("#handle input[data-input], #parts input[type=text][data-input]")].map((c) => c.dataset.input);
    });
    assert.ok(fields.length > 40, String(fields.length));
    const nonsense = ["x", "-9e99", "\u202e😀", "\"]\n[[", "1/0"];
    let told = 0;
    for (const [i, field] of fields.entries()) {
      const control = page.locator(`[data-input="${field}"]`).first();
      const before = await control.inputValue();
      await control.evaluate((c, value) => { c.value = value; c.dispatchEvent(new Event("input")); }, nonsense[i % nonsense.length]);
      await page.waitForFunction((f) => {
        const there = document.querySelector(`[data-input="${CSS.escape(f)}"]`);
        return there && (there.getAttribute("aria-invalid") === "true" || document.querySelector("#faults .fault") || document.querySelector("#shown .bodies"));
      }, field);
      await page.waitForTimeout(60);
      told += await page.locator("#faults .fault").count() > 0 ? 1 : 0;
      if (i === 3) await shot(page, "told");
      await control.evaluate((c, value) => { c.value = value; c.dispatchEvent(new Event("input")); }, before);
    }
    console.log(`nonsense in ${fields.length} fields: told of in ${told}`);
    assert.ok(told > fields.length / 2, `${told} of ${fields.length}`);
    await page.waitForFunction(() => document.querySelectorAll("#faults .fault").length === 0);
    await page.locator("#shown .bodies").waitFor();
    // A cure is one click, and undo takes it back.
    await type(page, "handle.length", "11800");
    const cure = page.locator('[data-field="handle.length"] .cure').first();
    await cure.waitFor();
    const name = await cure.textContent();
    await shot(page, "cure");
    await cure.click();
    await page.waitForFunction((n) => n.includes(document.querySelector('[data-input="handle.length"]').value), name);
    await page.locator("#shown .bodies").waitFor();
    await page.locator("#undo").click();
    await page.waitForFunction(() => document.querySelector('[data-input="handle.length"]').value === "11800");
    await page.locator("#redo").click();
    await page.locator("#shown .bodies").waitFor();
    await shot(page, "cured");
  },

  tabs: async () => {
    // What is undone again is as it was saved.
    const undone = await opened();
    await undone.locator('[data-file="lamplighters-rod.toml"] button').first().click();
    await undone.locator("#shown .bodies").waitFor();
    await type(undone, "handle.length", "121");
    await undone.waitForFunction(() => !document.getElementById("undo").disabled);
    assert.equal(await undone.locator("#state").textContent(), "not saved");
    await undone.locator("#undo").click();
    await undone.waitForFunction(() => document.getElementById("state").textContent === "");
    await undone.close();
    const one = await opened(), two = await opened();
    for (const page of [one, two]) {
      await page.locator('[data-file="lamplighters-rod.toml"] button').first().click();
      await page.locator("#shown .bodies").waitFor();
    }
    await type(one, "handle.length", "121");
    await one.waitForTimeout(200);
    // In the middle of it the page is loaded anew: what was typed is there.
    await one.reload();
    await one.locator("#shown .bodies").waitFor();
    assert.equal(await input(one, "handle.length").inputValue(), "121");
    await one.locator("#save").click();
    await one.waitForFunction(() => /version/.test(document.getElementById("state").textContent));
    assert.match(fs.readFileSync(path.join(folder, "lamplighters-rod.toml"), "utf8"), /^length = 121$/m);
    // The other tab cannot write over it unseen.
    await type(two, "handle.length", "125");
    await two.waitForTimeout(400);
    await two.locator("#save").click();
    await two.locator("#dialog").getByText("changed meanwhile").waitFor();
    await shot(two, "changed-meanwhile");
    await two.locator("#dialog-close").click();
    await saveAs(two, "rod-of-the-other-tab");
    assert.match(fs.readFileSync(path.join(folder, "lamplighters-rod.toml"), "utf8"), /^length = 121$/m);
    assert.match(fs.readFileSync(path.join(folder, "rod-of-the-other-tab.toml"), "utf8"), /^length = 125$/m);
    // Versions, plates, and a mesh that is dropped.
    await two.locator("#jobs").click();
    await two.locator('[data-file="lamplighters-rod.toml"] .chosen').check();
    await shot(two, "jobs");
    await two.locator("#plates").click();
    await two.locator("#dialog pre").waitFor();
    assert.match(await two.locator("#dialog pre").textContent(), /plate-1/);
    await shot(two, "plates");
    await two.locator("#dialog-close").click();
    await two.locator("#jobs").click();
    await two.locator('[data-file="lamplighters-rod.toml"] button').last().click();
    await two.locator("#dialog-title").getByText("Versions of").waitFor();
    assert.equal(await two.locator("#dialog-body li").count(), 2);
    await shot(two, "versions");
    await two.locator("#dialog-close").click();
    // The same job with several values of a field.
    await two.locator("#variants summary").click();
    await two.locator("#make-variants").click();
    assert.equal(await two.evaluate(() => document.activeElement.tagName), "SELECT", "it asks for a field");
    await two.locator("#variants select").selectOption("part[1].clearance");
    await two.locator("#variants input").fill("0.25, 0.3, wide");
    await shot(two, "variants");
    await two.locator("#make-variants").click();
    await two.locator("#dialog pre").waitFor();
    await shot(two, "variants-made");
    assert.match(await two.locator("#dialog pre").textContent(), /wide/);
    await two.locator("#dialog-close").click();
    const rows = fs.readFileSync(path.join(folder, "batch/summary.csv"), "utf8").trim().split("\n");
    assert.equal(rows.length, 4, rows.join("\n"));
    assert.match(fs.readFileSync(path.join(folder, "rod-of-the-other-tab-variants.toml"), "utf8"), /^values = \[0.25, 0.3, "wide"\]$/m);
    const mesh = [...fs.readFileSync(path.join(folder, "plates", "plate-1.stl"))];
    await two.evaluate((bytes) => {
      const data = new DataTransfer();
      data.items.add(new File([new Uint8Array(bytes)], "my stone.STL"));
      dispatchEvent(new DragEvent("drop", { dataTransfer: data, bubbles: true, cancelable: true }));
    }, mesh);
    await two.locator("#dialog").getByText("my stone.stl is in the folder").waitFor();
    assert.ok(fs.existsSync(path.join(folder, "my stone.stl")));
    await shot(two, "dropped");
    assert.ok(await two.locator("#dialog-body button").count() >= 2, "it can be a scan, or be surveyed");
    await two.locator("#dialog-body button").last().click();
    await two.locator("#dialog pre").waitFor();
    await shot(two, "survey");
  },

  keyboard: async () => {
    const page = await opened();
    await page.locator("#begin").waitFor();
    const focused = () => page.evaluate(() => {
      const a = document.activeElement;
      return a.dataset.input || a.id || a.value || a.textContent.slice(0, 20);
    });
    const tabTo = async (wanted) => {
      for (let i = 0; i < 400; i++) {
        await page.keyboard.press("Tab");
        if (await focused() === wanted) return;
      }
      assert.fail(`${wanted} is not reached by Tab`);
    };
    await tabTo("locking_seat");
    await page.keyboard.press("Space");
    await tabTo("begin");
    await page.keyboard.press("Enter");
    await page.locator('[data-input="handle.name"]').waitFor();
    await tabTo("handle.bore");
    await page.keyboard.type("31.4 31.36");
    await page.waitForTimeout(1500);
    assert.equal(await focused(), "handle.bore", "typing does not lose the focus");
    assert.equal(await input(page, "handle.bore").inputValue(), "31.4 31.36");
    // Where the caliper goes is drawn for the field in use.
    assert.ok(await page.locator('#measuring [data-method="inside jaws"] svg').isVisible());
    assert.match(await page.locator("#measuring figure:visible").textContent(), /^inside jaws/);
    await shot(page, "focus");
    // Every control says what it is.
    const nameless = await page.evaluate(() => [...document.querySelectorAll("input, select, textarea, button, canvas")]
      .filter((c) => c.offsetParent !== null && !(c.labels?.length || c.getAttribute("aria-label") || c.textContent.trim() || c.title))
      .map((c) => c.outerHTML.slice(0, 120)));
    assert.deepEqual(nameless, []);
    const undescribed = await page.evaluate(() => [...document.querySelectorAll("[data-input]")]
      .filter((c) => !c.getAttribute("aria-describedby").split(" ").every((id) => document.getElementById(id)))
      .map((c) => c.dataset.input));
    assert.deepEqual(undescribed, []);
    const twice = await page.evaluate(() => {
      const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
      return ids.filter((id, i) => ids.indexOf(id) !== i);
    });
    assert.deepEqual(twice, []);
  },

  view: async () => {
    await context.addInitScript(() => {
      [window.alive, window.made] = [0, 0];
      const { createBuffer, deleteBuffer } = WebGL2RenderingContext.prototype;
      Object.assign(WebGL2RenderingContext.prototype, {
        createBuffer() { window.alive += 1; window.made += 1; return createBuffer.call(this); },
        deleteBuffer(buffer) { window.alive -= 1; deleteBuffer.call(this, buffer); },
      });
    });
    const page = await opened();
    await page.locator('[data-file="lamplighters-rod.toml"] button').first().click();
    await page.locator("#shown .bodies").waitFor();
    await settled(page);
    const drawn = async () => {
      await settled(page);
      await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
      await page.waitForFunction(() => !document.getElementById("stage").classList.contains("moving"));
      return (await page.locator("#stage").screenshot()).toString("base64");
    };
    const edit = async (field, value) => {
      const before = await page.evaluate(() => performance.getEntriesByName("edit to picture").length);
      await input(page, field).fill(value);
      await page.waitForFunction((n) => performance.getEntriesByName("edit to picture").length > n, before);
      await settled(page);
    };
    const clearance = "part[1].clearance";
    await reach(page, clearance);
    const usual = await input(page, clearance).inputValue(), first = await drawn();
    await page.locator("#stage canvas").focus();
    for (const key of ["ArrowLeft", "+", "c", "]", "h", "x"]) await page.keyboard.press(key);
    await page.locator("#components label", { hasText: "stone" }).locator("input").uncheck();
    await input(page, clearance).focus();
    const posed = await drawn();
    assert.ok(!await alike(page, posed, first), "keys change the view");
    await shot(page, "posed");
    // Another shape and back: pose, cut and what is switched off are as they were.
    await edit(clearance, "0.6");
    assert.ok(!await alike(page, await drawn(), posed), "the other shape is drawn");
    assert.equal(await page.locator("#components label", { hasText: "stone" }).locator("input").isChecked(), false);
    await shot(page, "edited");
    await edit(clearance, usual);
    assert.ok(await alike(page, await drawn(), posed), "the view stays");
    // What is no longer drawn is freed, and what has not changed is not made again.
    const alive = await page.evaluate(() => window.alive);
    for (const value of ["0.6", usual]) await edit(clearance, value);
    assert.equal(await page.evaluate(() => window.alive), alive);
    const made = await page.evaluate(() => window.made), bodies = await page.locator("#bodies label").count();
    await edit("handle.name", "another name");
    // Two scenes, without and with findings, and two buffers for the thickness of each body.
    assert.equal(await page.evaluate(() => window.made) - made, 4 * bodies);
    // Pins and the list lead to one another, also after the edits; the first is cut off.
    await page.locator("#findings button.pin").nth(1).click();
    await page.locator('#pins button[aria-current="true"]').waitFor();
    assert.equal(await page.locator('#pins button[aria-current="true"]').textContent(), "2");
    await page.locator("#pins button").nth(2).evaluate((button) => button.click());
    assert.equal(await page.evaluate(() => document.activeElement.dataset.pin), "3");
    // Another job is looked at from the start.
    await page.locator("#jobs").click();
    await page.locator('[data-file="lamplighters-rod.toml"] button').first().click();
    await page.locator("#go-on").click();
    await page.waitForFunction(() => document.querySelector('[data-input="handle.name"]').value !== "another name");
    for (const key of ["c", "h", "x"]) await page.locator("#stage canvas").press(key);
    await page.locator("#result-title").click();
    assert.ok(await alike(page, await drawn(), first), "another job is looked at from the start");
  },

  latency: async () => {
    const page = await opened();
    const rows = [];
    // Measures of one part, as a fitter changes them, and one that all parts depend on.
    for (const [file, field, base] of [["lamplighters-rod.toml", "part[1].clearance", 0.25], ["two-plungers.toml", "part[1].plunger[1].z", 58],
      ["ember-wand.toml", "part[1].from_z", 12], ["storm-lantern-trim.toml", "part[1].head_length", 35],
      ["storm-lantern-staff.toml", "part[1].from_z", 5.6], ["storm-lantern-staff.toml", "handle.bore", 36]]) {
      await page.locator(`[data-file="${file}"] button`).first().click();
      await page.waitForFunction((f) => document.getElementById("job-name").textContent === f, file);
      await page.locator("#shown .bodies").waitFor();
      await reach(page, field);
      await page.evaluate(() => performance.clearMeasures());
      for (let i = 0; i < 60; i++) {
        // Asking again and again would make the browser draw frames of its own.
        const seen = page.evaluate(() => new Promise((done) => {
          const watch = new PerformanceObserver(() => { watch.disconnect(); done(); });
          watch.observe({ entryTypes: ["measure"] });
        }));
        await input(page, field).fill((base + (i % 9) / 100).toFixed(2));
        await seen;
      }
      rows.push({ file, field, times: await page.evaluate(() => performance.getEntriesByName("edit to picture").map((e) => e.duration)) });
      await page.locator("#shown .bodies").waitFor();
      assert.equal(await page.locator("#faults .fault").count(), 0);
      await shot(page, file.replace(".toml", ""));
      await page.evaluate(() => sessionStorage.clear());
      await page.goto(address);
    }
    rows.push({ file: "all of them", field: "each", times: rows.flatMap((r) => r.times) });
    for (const r of rows) {
      const times = r.times.sort((a, b) => a - b), at = (share) => times[Math.min(times.length - 1, Math.floor(share * times.length))];
      Object.assign(r, { median: at(0.5), p95: at(0.95) });
      console.log(`edit to picture, ${r.file}, ${r.field}: ${times.length} edits, median ${r.median.toFixed(1)} ms, 95 % ${r.p95.toFixed(1)} ms, most ${times.at(-1).toFixed(1)} ms`);
    }
    const all = rows.at(-1);
    if (process.env.BOREWRIGHT_LATENCY) assert.ok(all.median < 50 && all.p95 < 100, `median ${all.median}, 95 % ${all.p95}`);
  },
};

try {
  await scenes[scene]();
  assert.deepEqual(faults, []);
} catch (error) {
  for (const [i, page] of context.pages().entries()) await page.screenshot({ path: path.join(pictures, `${scene}-failed-${i}.png`) }).catch(() => {});
  console.error(faults.join("\n"));
  console.error(error);
  process.exitCode = 1;
} finally {
  await browser.close();
}
