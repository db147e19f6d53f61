// A fitter's first steps in Firefox: node firefox.mjs ADDRESS PICTURES MODULES. Chromium plays all
// of browser.mjs; this tells whether the page needs anything that only one browser has.
import assert from "node:assert/strict";
import path from "node:path";
import { createRequire } from "node:module";

const [address, pictures, modules] = process.argv.slice(2);
const puppeteer = createRequire(path.join(modules, "x"))("puppeteer-core");
const PATIENCE = 240000, STEP = 100;
const browser = await puppeteer.launch({
  browser: "firefox", executablePath: process.env.BOREWRIGHT_FIREFOX || "/usr/bin/firefox-esr",
  headless: true, defaultViewport: null, args: ["--width=1500", "--height=1000"],
});
const faults = [];
const page = await browser.newPage();
page.on("pageerror", (e) => faults.push(`page error: ${e.message}`));
// Refusals are answers; and this browser has no 3D without a display.
page.on("console", (m) => { if (m.type() === "error" && !/WebGL/.test(m.text())) faults.push(`console: ${m.text()}`); });
// The page's policy forbids the strings that waitForFunction would evaluate in it.
const until = async (what) => {
  for (let waited = 0; waited < PATIENCE; waited += STEP) {
    if (await page.evaluate(what)) return;
    await new Promise((done) => setTimeout(done, STEP));
  }
  assert.fail(`never: ${what}`);
};
const type = (field, value) => page.$eval(`[data-input="${field}"]`, (control, text) => {
  control.value = text;
  control.dispatchEvent(new Event("input"));
}, value);
const settled = () => until(() => document.querySelector("#verdict.verdict") !== null
  && document.getElementById("findings").getAttribute("aria-busy") === "false");

try {
  await page.goto(address);
  await page.waitForSelector('[data-file="lamplighters-rod.toml"] button', { timeout: PATIENCE });
  await page.click('[data-file="lamplighters-rod.toml"] button');
  await page.waitForSelector("#shown .bodies", { timeout: PATIENCE });
  await settled();
  assert.match(await page.$eval("#verdict", (e) => e.textContent), /Can be printed/);
  // What cannot be is told at its field, and cured at one click.
  await type("handle.length", "11800");
  const cure = '[data-field="handle.length"] .cure';
  await page.waitForSelector(cure, { timeout: PATIENCE });
  await page.screenshot({ path: path.join(pictures, "firefox-1-cure.png") });
  const named = await page.$eval(cure, (e) => e.textContent);
  await page.click(cure);
  await until(() => document.querySelectorAll("#faults .fault").length === 0);
  await settled();
  const now = await page.$eval('[data-input="handle.length"]', (e) => e.value);
  assert.ok(named.includes(now), `${named}, and then ${now}`);
  await page.click("#save");
  await until(() => /version/.test(document.getElementById("state").textContent));
  await page.screenshot({ path: path.join(pictures, "firefox-2-saved.png") });
  assert.deepEqual(faults, []);
} catch (error) {
  await page.screenshot({ path: path.join(pictures, "firefox-failed.png") }).catch(() => {});
  console.error(faults.join("\n"));
  console.error(error);
  process.exitCode = 1;
} finally {
  await browser.close();
}
