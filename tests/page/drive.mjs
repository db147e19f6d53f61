// Opens report pages in Chromium and says, as JSON, what it saw. Judges nothing:
// tests/page/main.rs does.
//
//   node drive.mjs MODULES CHROMIUM OUT NAME=FILE...
//
// MODULES holds node_modules, OUT takes the screenshots.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { alike } from "./alike.mjs";

const [modules, executablePath, out, ...named] = process.argv.slice(2);
const require = createRequire(path.join(path.resolve(modules), "drive.mjs"));
const { chromium } = require("playwright-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

const DESK = { width: 1100, height: 900 }, PHONE = { width: 390, height: 844 };
const SOFTWARE = ["--no-sandbox", "--enable-unsafe-swiftshader"];
const NO_WEBGL = ["--no-sandbox", "--disable-gpu", "--disable-3d-apis"];
const LOADS = 5;

// Two frames, and the view at rest: what was asked for is drawn, with smooth edges.
const settled = async (page) => {
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done()))));
  await page.waitForFunction(() => !document.getElementById("stage")?.classList.contains("moving"));
};

// A tab on the page, with all that goes wrong in it.
async function open(browser, url, options = {}) {
  const context = await browser.newContext({ viewport: DESK, colorScheme: "light", ...options });
  const page = await context.newPage();
  const faults = [], fetched = [];
  page.on("pageerror", (error) => { faults.push(String(error)); console.error(`${url}: ${error}`); });
  page.on("console", (message) => { if (message.type() === "error") faults.push(message.text()); });
  page.on("request", (request) => {
    const to = request.url();
    if (to !== url && !to.startsWith("data:")) fetched.push(to);
  });
  await page.goto(url);
  return { context, page, faults, fetched };
}

const paint = (page) => page.evaluate(() => new Promise((done) => {
  new PerformanceObserver((list) => {
    const first = list.getEntries().find((entry) => entry.name === "first-contentful-paint");
    if (first) done(first.startTime);
  }).observe({ type: "paint", buffered: true });
}));

const audit = async (page, where) => {
  await page.evaluate(axe);
  const { violations } = await page.evaluate(() => window.axe.run(document));
  return violations.map((v) => ({ where, rule: v.id, impact: v.impact, nodes: v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160)) }));
};

// What shows of the 3D view, and whether the page is wider than its window.
const measured = (page) => page.evaluate(() => {
  const shown = (element) => Boolean(element) && element.checkVisibility() && element.getBoundingClientRect().width > 0;
  const still = document.getElementById("still");
  return {
    canvas: shown(document.querySelector("#stage canvas")),
    still: shown(still) && still.naturalWidth > 0,
    controls: shown(document.getElementById("controls")),
    keys: shown(document.getElementById("keys")),
    pins: [...document.querySelectorAll("#pins button")].filter(shown).length,
    overflow: document.documentElement.scrollWidth - document.documentElement.clientWidth,
  };
});

async function shots(page, name, state) {
  await page.waitForSelector("#stage:not(.still)");
  await settled(page);
  await page.screenshot({ path: path.join(out, `${name}-${state}.png`) });
  await page.locator("#stage").screenshot({ path: path.join(out, `${name}-${state}-stage.png`) });
  return { state, ...(await measured(page)) };
}

// A picture of the first of those elements, if there is one.
async function part(page, name, what, selector) {
  const shown = await page.evaluate((s) => {
    const first = document.querySelector(s);
    first?.closest("details")?.setAttribute("open", "");
    first?.scrollIntoView();
    return Boolean(first);
  }, selector);
  if (shown) await page.screenshot({ path: path.join(out, `${name}-${what}.png`) });
}

// Tabs to the view and works it by keys alone.
async function keyboard(page) {
  let tabs = 0;
  while (tabs < 9 && !(await page.evaluate(() => document.activeElement?.tagName === "CANVAS"))) {
    await page.keyboard.press("Tab");
    tabs += 1;
  }
  const seen = async () => {
    await settled(page);
    const drawn = await page.locator("#stage").screenshot();
    return { drawn: drawn.toString("base64"), cut: await page.locator("#cut-at").textContent() };
  };
  const same = async (one, other) => one.cut === other.cut && await alike(page, one.drawn, other.drawn);
  const steps = {};
  let before = await seen();
  const first = before;
  for (const key of ["ArrowLeft", "ArrowUp", "+", "c", "]", "[", "h", "x"]) {
    await page.keyboard.press(key);
    const now = await seen();
    steps[key] = !await same(now, before);
    before = now;
  }
  const state = await page.evaluate(() => ({
    cut: document.getElementById("cut-on").checked,
    heat: document.getElementById("heat-on").checked,
    apart: Number(document.getElementById("apart").value),
  }));
  for (const key of ["x", "h", "c", "0"]) await page.keyboard.press(key);
  return { tabs, steps, ...state, back: await same(await seen(), first) };
}

// What a chassis does to the view, alone and with its parts.
async function chassis(page) {
  const box = page.locator("#components label[title=\"the chassis trough.stl\"] input");
  if ((await box.count()) === 0) return null;
  const drawn = async () => {
    await settled(page);
    return (await page.locator("#stage").screenshot()).toString("base64");
  };
  const changes = async () => {
    const before = await drawn();
    await box.uncheck();
    const without = await drawn();
    await box.check();
    return !await alike(page, before, without);
  };
  const shown = await box.isChecked(), hidden_changes = await changes();
  const body = page.locator("#bodies input").first();
  await body.uncheck();
  const stays_without_its_part = await changes();
  await body.check();
  return { shown, hidden_changes, stays_without_its_part };
}

async function pins(page) {
  const all = page.locator("#pins button");
  if ((await all.count()) === 0) return null;
  await all.first().evaluate((button) => button.click());
  const listed = await page.evaluate(() => document.activeElement?.dataset?.pin ?? "");
  return { count: await all.count(), listed };
}

async function onPaper(page, name) {
  await page.emulateMedia({ media: "print" });
  await page.evaluate(() => scrollTo(0, 0));
  await settled(page);
  await page.screenshot({ path: path.join(out, `${name}-print.png`) });
  const seen = await measured(page);
  await page.emulateMedia({ media: null });
  const sheets = async (options) => {
    const pdf = await page.pdf({ format: "A4", ...options });
    return pdf.toString("latin1").match(/\/Type\s*\/Page\b/g)?.length ?? 0;
  };
  const pages = await sheets({ path: path.join(out, `${name}.pdf`) });
  const closed = await page.evaluate(() => document.querySelectorAll("details[open]").length === 0);
  await page.evaluate(() => document.querySelectorAll("details").forEach((d) => d.remove()));
  return { ...seen, pages, folded_pages: await sheets({}), closed };
}

async function examine(browser, plain, name, file) {
  const url = pathToFileURL(path.resolve(file)).href;
  const report = { name, bytes: readFileSync(file).length, paint: [], states: [], axe: [], faults: [], fetched: [] };
  const closing = async ({ context, faults, fetched }) => {
    report.faults.push(...faults);
    report.fetched.push(...fetched);
    await context.close();
  };
  for (let i = 0; i < LOADS; i += 1) {
    const tab = await open(browser, url);
    report.paint.push(await paint(tab.page));
    await closing(tab);
  }
  const light = await open(browser, url);
  report.states.push(await shots(light.page, name, "light"));
  report.axe.push(...(await audit(light.page, "light")));
  report.keyboard = await keyboard(light.page);
  await light.page.check("#cut-on");
  report.states.push(await shots(light.page, name, "section"));
  await light.page.uncheck("#cut-on");
  await light.page.check("#heat-on");
  report.states.push(await shots(light.page, name, "heat"));
  await light.page.uncheck("#heat-on");
  await light.page.locator("#apart").fill("1");
  report.states.push(await shots(light.page, name, "apart"));
  await light.page.locator("#apart").fill("0");
  report.chassis = await chassis(light.page);
  report.pins = await pins(light.page);
  report.paper = await onPaper(light.page, name);
  await closing(light);

  const dark = await open(browser, url, { colorScheme: "dark" });
  report.states.push(await shots(dark.page, name, "dark"));
  await dark.page.evaluate(() => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
  report.axe.push(...(await audit(dark.page, "dark, all open")));
  await part(dark.page, name, "dark-fits", ".fits");
  await part(dark.page, name, "dark-steps", ".steps");
  await closing(dark);

  const phone = await open(browser, url, { viewport: PHONE, hasTouch: true, isMobile: true });
  report.states.push(await shots(phone.page, name, "phone"));
  report.axe.push(...(await audit(phone.page, "phone")));
  await part(phone.page, name, "phone-fits", ".fits");
  await closing(phone);

  for (const [state, options] of [["no-webgl", {}], ["no-script", { javaScriptEnabled: false }]]) {
    const tab = await open(plain, url, options);
    await tab.page.screenshot({ path: path.join(out, `${name}-${state}.png`) });
    report.states.push({ state, ...(await measured(tab.page)) });
    await closing(tab);
  }
  return report;
}

const browser = await chromium.launch({ executablePath, args: SOFTWARE });
const plain = await chromium.launch({ executablePath, args: NO_WEBGL });
try {
  const reports = [];
  for (const pair of named) {
    const at = pair.indexOf("=");
    reports.push(await examine(browser, plain, pair.slice(0, at), pair.slice(at + 1)));
  }
  console.log(JSON.stringify({ version: browser.version(), reports }));
} finally {
  await Promise.all([browser.close(), plain.close()]);
}
