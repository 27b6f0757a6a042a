// What every test in a real browser needs: the browser, a page with all that must not happen in it, the tally.
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

const browserPath = process.env.BEDWRIGHT_CHROMIUM || "/usr/bin/chromium";
const require = createRequire(import.meta.url);
let chromium, axeSource;
try {
  ({ chromium } = require("playwright-core"));
  axeSource = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
} catch {
  console.error("playwright-core or axe-core is missing: run scripts/setup");
  process.exit(1);
}
if (!existsSync(browserPath)) {
  console.error(browserPath + " is missing: run scripts/setup");
  process.exit(1);
}

const tally = { wrong: 0 };
/// A folder of this run's own; runCase removes it.
export const work = mkdtempSync(join(tmpdir(), "in-browser-"));
export function holds(what, ok, seen = "") {
  if (ok) return console.log("ok: " + what);
  ++tally.wrong;
  console.log("WRONG: " + what + (seen === "" ? "" : ": " + seen));
}

export async function browserWith(extra = []) {
  return chromium.launch({ executablePath: browserPath, args: ["--headless=new", "--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", ...extra] });
}

/// The page, opened, with a list of everything in it that must not happen.
export async function opened(browser, file, options = {}) {
  const { fragment = "", before = null, ...more } = options;
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...more });
  if (before) await context.addInitScript(before);
  const page = await context.newPage(), address = pathToFileURL(file).href;
  page.trouble = [];
  page.on("console", m => page.trouble.push("console: " + m.text()));
  page.on("pageerror", e => page.trouble.push("error: " + e.message));
  page.on("request", r => r.url().replace(/#.*$/, "") !== address && r.url() !== "data:," && !r.url().startsWith("blob:") && page.trouble.push("request: " + r.url().slice(0, 100)));
  page.on("dialog", d => (page.trouble.push("dialog"), d.dismiss()));
  page.on("popup", () => page.trouble.push("another window"));
  await page.goto(address + fragment);
  await page.waitForSelector("html[data-ready]", { timeout: 20000 }).catch(() => page.trouble.push("never ready"));
  return page;
}
export const quiet = page => holds("no console message, no error, no request", page.trouble.length === 0, page.trouble.join(" | "));
export const settled = page => page.evaluate(() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done))));

export async function audit(page, name) {
  await page.evaluate(axeSource);
  const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
  holds(name + ": the accessibility checks find nothing", found.violations.length === 0, found.violations.map(v => v.id + " " + v.nodes.slice(0, 3).map(n => n.target.join(" ")).join(", ")).join(" | "));
}

/// Shows the watchers a spoilt copy of a page: `change` of its text, `sees` what has to notice it.
export async function spoilt(browser, text, what, change, sees) {
  const file = join(work, "spoilt.html");
  writeFileSync(file, change(text));
  const page = await opened(browser, file), before = tally.wrong, log = console.log;
  console.log = () => {};
  await sees(page).finally(() => (console.log = log));
  const noticed = tally.wrong > before;
  tally.wrong = before;
  holds("notices " + what, noticed);
  await page.context().close();
}

/// Runs one case and ends the program: status 1 where anything did not hold.
export async function runCase(cases, which) {
  try {
    if (!cases[which]) throw new Error("no case " + which + "; there are " + Object.keys(cases).join(", "));
    await cases[which]();
  } catch (e) {
    ++tally.wrong;
    console.error(e);
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
  process.exit(tally.wrong ? 1 : 0);
}
