// A published page in a real browser, from a disk and with no network: node visitor_in_browser.mjs PROGRAM KITS CASE.
// What the page makes is held against what the native program makes from the kit file that the page gave out.
import { execFileSync, spawnSync } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync, copyFileSync } from "node:fs";
import { join, relative } from "node:path";
import { audit, browserWith, holds, opened, quiet, runCase, spoilt, work } from "./in_browser.mjs";

const [program, kits, which, count = "3"] = process.argv.slice(2);
const mostBytes = 3e6, mostReadyMs = 1500, mostRedrawMs = 100;  // what the page promises
// A machine that tests does other work besides, and draws without a graphics card: what it measures is printed beside the promise,
// and only far beyond it does the test fail.
const busy = 4;

const sharedText = () => readFileSync(join(kits, "shared-bench.json"), "utf8");
const maps = [1, 2, 3].map(n => `twist-bench-map-${n}.txt`), besideKits = ["licence.txt", ...maps];
/// The page of a kit, made by the program; the kit's text as it is or changed.
function pageOf(name, text = sharedText()) {
  const folder = join(work, name), file = join(folder, "page.html");
  if (existsSync(file)) return file;
  mkdirSync(folder, { recursive: true });
  for (const beside of besideKits) copyFileSync(join(kits, beside), join(folder, beside));
  writeFileSync(join(folder, "kit.json"), text);
  execFileSync(program, ["publish", join(folder, "kit.json"), "--page", file], { stdio: "ignore" });
  return file;
}

async function live(browser, file, options = {}) {
  const page = await opened(browser, file, options);
  await page.waitForSelector("html[data-made]", { timeout: 30000 }).catch(() => page.trouble.push("never ready to compute"));
  return page;
}

/// Does something to the page and waits until its answer is shown and every section filled.
async function answered(page, act, filled = true) {
  const told = page.evaluate(() => document.documentElement.dataset.shown || "0"), before = +(await told);
  await act();
  await page.waitForFunction(n => +(document.documentElement.dataset.shown || 0) > n && !document.documentElement.dataset.busy, before, { timeout: 30000 });
  if (filled) await page.waitForFunction(() => document.documentElement.dataset.filled === document.documentElement.dataset.shown || document.querySelector(".field.faulty"), null, { timeout: 30000 });
}

// Without these the browser tells how much memory it takes only now and then, and what it has not yet cleared away too.
const countsMemory = ["--enable-precise-memory-info", "--js-flags=--expose-gc"];

/// After some changes to warm up, so many more: neither elements nor memory may grow with them.
async function changesLeaveNothing(page, warming, more) {
  const change = async i => answered(page, () => page.fill("#field-0", String(1500 + (i * 53) % 900)), false);
  const count = () => page.evaluate(() => (window.gc(), { elements: document.querySelectorAll("*").length, bytes: performance.memory.usedJSHeapSize }));
  for (let i = 0; i < warming; ++i) await change(i);
  const early = await count();
  for (let i = warming; i < warming + more; ++i) await change(i);
  await page.waitForFunction(() => document.documentElement.dataset.filled === document.documentElement.dataset.shown);
  const late = await count();
  holds("changes leave no elements behind", late.elements < early.elements * 1.03, early.elements + " to " + late.elements);
  holds("changes leave no memory taken", late.bytes < early.bytes * 1.5 + 2e7, early.bytes + " to " + late.bytes);
}

async function saved(page, button) {
  // When many come one after another, Chromium holds one back now and then: asked for once more, as people would.
  let kept = null;
  for (let time = 0; time < 2 && !kept; ++time) {
    const waiting = page.waitForEvent("download", { timeout: 12000 }).catch(() => null);
    await page.locator(button).first().click();
    kept = await waiting;
  }
  if (!kept) throw new Error("nothing came of " + button);
  return { name: kept.suggestedFilename(), bytes: readFileSync(await kept.path()) };
}

const under = folder => readdirSync(folder).flatMap(name => (statSync(join(folder, name)).isDirectory() ? under(join(folder, name)) : [join(folder, name)]));

/// An archive whose entries are stored as they are.
function entriesOf(zip) {
  const entries = new Map();
  for (let at = 0; at + 4 <= zip.length && zip.readUInt32LE(at) === 0x04034b50;) {
    const size = zip.readUInt32LE(at + 18), name = zip.readUInt16LE(at + 26), begin = at + 30 + name + zip.readUInt16LE(at + 28);
    entries.set(zip.toString("utf8", at + 30, at + 30 + name), zip.subarray(begin, begin + size));
    at = begin + size;
  }
  return entries;
}

/// What the native program makes from the visitor's kit file.
function native(kitText) {
  const folder = mkdtempSync(join(work, "native-"));
  for (const beside of besideKits) copyFileSync(join(kits, beside), join(folder, beside));
  writeFileSync(join(folder, "kit.json"), kitText);
  execFileSync(program, ["make", join(folder, "kit.json"), "--out", join(folder, "set")], { stdio: "ignore" });
  return { folder, files: new Map(under(join(folder, "set")).map(path => [relative(join(folder, "set"), path), readFileSync(path)])) };
}

const gaugeRow = (page, part, words) => page.evaluate(([id, what]) => [...document.querySelectorAll("#sizes tr")].map(r => [...r.cells].map(c => c.textContent)).find(cells => cells[0] === what[0] && cells[1] === what[1]), [part, words]);

const cases = {
  async opens() {
    const browser = await browserWith(), file = pageOf("shared");
    const parts = JSON.parse(/<script type="application\/json" id="set">(.*?)<\/script>/s.exec(readFileSync(file, "utf8"))[1]).parts;
    const bytes = statSync(file).size - JSON.stringify(parts).length;
    holds("less than 3 MB without the parts", bytes < mostBytes, bytes);
    let ready = Infinity, usable = Infinity;
    for (let i = 0; i < 5; ++i) {
      const page = await live(browser, file);
      const marks = await page.evaluate(() => Object.fromEntries(performance.getEntriesByType("mark").map(m => [m.name, m.startTime])));
      ready = Math.min(ready, marks.ready), usable = Math.min(usable, marks.live);
      quiet(page);
      if (i === 0)
        for (const section of await page.locator("main > section").all())
          holds((await section.getAttribute("id")) + " is not empty", (await section.innerText()).length > 50 || (await section.locator("canvas").count()) > 0);
      await page.context().close();
    }
    console.log(`set shown after ${ready.toFixed(0)} ms, fields usable after ${usable.toFixed(0)} ms (promised: ${mostReadyMs})`);
    holds(`takes measurements within ${busy} times ${mostReadyMs} ms`, usable < busy * mostReadyMs, usable);
    await browser.close();
  },

  async dome() {
    const browser = await browserWith(), page = await live(browser, pageOf("shared"), { acceptDownloads: true });
    const before = await gaugeRow(page, "adapter-a", ["seat", "radius"]);
    await page.locator("#field-0").scrollIntoViewIfNeeded();
    const box = page.locator(".field").first();
    await box.locator("summary").click();
    await box.locator(".edge-tool input").nth(0).fill("200");
    await box.locator(".edge-tool input").nth(1).fill("1,92");
    await box.locator(".edge-tool button:enabled").waitFor({ timeout: 15000 });
    // R = c^2 / (8 s) + s / 2 for a chord of 200 and a gap of 1.92.
    const radius = Math.round(200 ** 2 / (8 * 1.92) + 1.92 / 2);
    holds("the radius that straightedge and feeler gauge give", (await box.innerText()).includes(`Radius ${radius} mm`), await box.innerText());
    await answered(page, () => box.locator(".edge-tool button").click());
    const after = await gaugeRow(page, "adapter-a", ["seat", "radius"]);
    holds("the gauge table follows", before[2] === "2400" && after[2] === String(radius) && Math.abs(+after[4] - radius) < 1 + radius * 0.001, JSON.stringify([before, after]));
    holds("so much more dome is a shim's work", (await page.innerText("#verdict")).includes("with help"), await page.innerText("#verdict"));
    const text = await page.inputValue("#own-text");
    holds("the text carries how it was measured", text.includes("straightedge 200 mm gap 1.92 mm") && text.includes("/frame/dome/radius_mm = " + radius), text);
    const kit = await saved(page, "#save-kit"), stl = await saved(page, '[data-file="stl/adapter-a.stl"]');
    const made = native(kit.bytes.toString());
    holds("the part saved is the native program's, byte for byte", stl.name === "adapter-a.stl" && stl.bytes.equals(made.files.get("stl/adapter-a.stl")));
    writeFileSync(join(made.folder, "mine.stl"), stl.bytes);
    const gauge = spawnSync(program, ["gauge", join(made.folder, "mine.stl"), "--kit", join(made.folder, "kit.json"), "--part", "adapter-a", "--json"], { encoding: "utf8" });
    const measured = JSON.parse(gauge.stdout).dimensions.find(d => d.feature === "seat" && d.quantity === "radius");
    holds("the native gauge measures that radius in it", gauge.status === 0 && Math.abs(measured.measured_mm - radius) < radius * 0.001, JSON.stringify(measured));
    quiet(page);
    await browser.close();
  },

  /// A way through each field: taken, told, in the kit file, and put back.
  async fields() {
    const browser = await browserWith(), page = await live(browser, pageOf("shared"), { acceptDownloads: true });
    const verdict = () => page.innerText("#verdict");
    const kitNow = async () => JSON.parse((await saved(page, "#save-kit")).bytes.toString());
    const flow = async (what, n, fill, sees) => {
      await answered(page, fill);
      await sees();
      await answered(page, () => page.click("#back"));
      holds(what + ": back to the published set", (await verdict()).includes("The published set") && !(await page.locator(".field.moved").count()), await verdict());
    };
    await flow("dome", 0, () => page.fill("#field-0", "2450"), async () => holds("a dome within the envelope fits as published", (await verdict()).includes("Fits as published.") && (await kitNow()).frame.dome.radius_mm === 2450, await verdict()));
    await flow("dome", 0, () => page.fill("#field-0", "2600"), async () => holds("a dome a little beyond fits with a shim", (await verdict()).includes("with help") && (await verdict()).includes("shim"), await verdict()));
    await flow("dome", 0, () => page.fill("#field-0", "3600"), async () => holds("a dome far beyond needs its own plates, by name", (await verdict()).includes("Needs its own parts") && (await verdict()).includes("adapter-a, adapter-b"), await verdict()));
    await flow("sheet", 1, () => page.fill("#field-1", "3.4"), async () => {
      holds("a thicker sheet takes longer screws", (await verdict()).includes("M3x12 screws in place of M3x10") && (await page.innerText("#hardware")).includes("M3x12"), await verdict());
      holds("what differs says the screws", (await page.innerText("#changes")).includes("M3x12"));
    });
    await flow("holes", 2, () => page.fill("#field-2", "150"), async () => holds("holes elsewhere need other plates", (await verdict()).includes("Needs its own parts") && (await kitNow()).frame.hole_pattern.pitch_mm.join() === "150,104", await verdict()));
    await flow("spacer", 3, () => page.fill("#field-3", "7,5"), async () => holds("a spacer of another height is another part", (await verdict()).includes("Print these from the files below: riser") && (await kitNow()).parts[1].thickness_mm === 7.5, await verdict()));
    // Two at once.
    await answered(page, () => page.fill("#field-0", "2450"));
    await answered(page, () => page.fill("#field-3", "7"));
    const kit = await kitNow();
    holds("two values at once are both in the kit", kit.frame.dome.radius_mm === 2450 && kit.parts[1].thickness_mm === 7);
    quiet(page);
    await browser.close();
  },

  async bad_values() {
    const browser = await browserWith(), page = await live(browser, pageOf("shared"));
    const said = n => page.innerText(`#field-${n}-problem`);
    await page.fill("#field-0", "a lot");
    holds("what is no number is told beside the field", (await said(0)).includes("is no number"));
    await answered(page, () => page.fill("#field-0", "2,6"), false);
    holds("beyond what the author opens is told with the range", (await said(0)).includes("800 to 20000"), await said(0));
    await answered(page, () => page.fill("#field-0", "9".repeat(40)), false);
    holds("a huge value is refused in words", (await said(0)).length > 20, await said(0));
    await answered(page, () => page.fill("#field-0", "2400"));
    await answered(page, () => page.fill("#field-2", "600"), false);
    holds("what does not go together is told beside its field", (await said(2)).length > 20, await said(2) + await page.innerText("#other-problems"));
    holds("the set before stays", (await page.locator("#files tbody tr").count()) > 10);
    await answered(page, () => page.fill("#field-2", "138"));
    holds("all is well again", (await said(2)) === "" && (await page.innerText("#verdict")).includes("The published set"));
    await page.fill("#field-1", "");
    holds("an empty field is told", (await said(1)).includes("empty"));
    quiet(page);
    await browser.close();
  },

  /// Every file that the page gives out, against the native program, for random values.
  async same_bytes() {
    const browser = await browserWith(), page = await live(browser, pageOf("shared"), { acceptDownloads: true });
    let state = 20261126;
    const random = () => ((state ^= state << 13, state >>>= 0, state ^= state >>> 17, state ^= state << 5, state >>>= 0), state / 4294967296);
    console.log("seed 20261126");
    for (let i = 0; i < +count; ++i) {
      const values = [(900 + 10000 * random()).toFixed(1), (1.2 + 2 * random()).toFixed(2), (134 + 8 * random()).toFixed(2), (4 + 9 * random()).toFixed(2)];
      for (const [n, v] of values.entries()) await page.fill("#field-" + n, v);
      await page.waitForTimeout(100);
      await page.waitForFunction(() => !document.documentElement.dataset.busy && document.documentElement.dataset.filled === document.documentElement.dataset.shown, null, { timeout: 30000 });
      const names = await page.$$eval("#files [data-file]", list => list.map(b => b.dataset.file));
      if (!names.length) {
        const folder = mkdtempSync(join(work, "bad-"));
        copyFileSync(join(kits, "licence.txt"), join(folder, "licence.txt")), writeFileSync(join(folder, "kit.json"), (await saved(page, "#save-kit")).bytes);
        holds(`${i + 1}: ${values.join(", ")} has errors for both`, spawnSync(program, ["check", join(folder, "kit.json")]).status === 1);
        continue;
      }
      const all = await saved(page, "#save-all"), entries = entriesOf(all.bytes), top = "shared-bench-B/";
      const made = native(entries.get(top + "kit.json").toString());
      const differ = [...made.files].filter(([name, bytes]) => !(entries.get(top + "set/" + name) || Buffer.alloc(0)).equals(bytes)).map(([name]) => name);
      holds(`${i + 1}: ${values.join(", ")}: ${names.length} files, the same bytes`, differ.length === 0 && names.length === made.files.size && entries.size === names.length + 2, differ.join(", "));
      if (i === 0) {
        await page.evaluate(() => (document.getElementById("more-files").open = true));
        for (const name of names) holds("saved by itself: " + name, (await saved(page, `[data-file="${name}"]`)).bytes.equals(made.files.get(name)));
        holds("the kit file by itself", (await saved(page, "#save-kit")).bytes.equals(entries.get(top + "kit.json")));
      }
      rmSync(made.folder, { recursive: true });
    }
    quiet(page);
    await browser.close();
  },

  async carries() {
    const browser = await browserWith(), file = pageOf("shared"), page = await live(browser, file);
    await answered(page, () => page.fill("#field-0", "2711"));
    await page.waitForFunction(() => document.getElementById("own-text").value.includes("2711"));
    const text = await page.inputValue("#own-text"), link = await page.inputValue("#own-link");
    const other = await live(browser, file, { fragment: link.slice(link.indexOf("#")) });
    await other.waitForFunction(() => document.documentElement.dataset.filled, null, { timeout: 20000 });
    holds("a link brings the values", (await other.inputValue("#field-0")) === "2711" && (await other.inputValue("#own-text")) === text);
    const third = await live(browser, file);
    await answered(third, async () => (await third.fill("#other-text", "Dear author,\n\n> " + text.replace(/\n/g, "\r\n> ")), await third.click("#take-text")));
    holds("a text quoted in a mail brings them, too", (await third.inputValue("#field-0")) === "2711", await third.innerText("#carry-said"));
    for (const [what, bad] of [["cut", text.slice(0, 40)], ["changed", text.replace("2711", "2712")], ["no text of ours", "hello"], ["hostile", "bedwright visit 1\n<script>window.ran=1</script>"]]) {
      await third.fill("#other-text", bad), await third.click("#take-text");
      await third.waitForFunction(() => document.getElementById("carry-said").textContent.startsWith("Not taken"));
      holds(what + " is refused in words, the values stay", (await third.inputValue("#field-0")) === "2711" && (await third.evaluate(() => window.ran)) === undefined);
    }
    const wrongLink = await live(browser, file, { fragment: "#visit=AAAA" });
    await wrongLink.waitForFunction(() => document.getElementById("carry-said").textContent.startsWith("Not taken"));
    holds("a broken link is told", true);
    for (const p of [page, other, third, wrongLink]) quiet(p);
    // The author's side: a folder of such texts.
    const folder = join(work, "texts");
    mkdirSync(folder), writeFileSync(join(folder, "one.txt"), text);
    const batch = spawnSync(program, ["batch", folder, "--kit", join(work, "shared", "kit.json"), "--out", join(work, "visitors"), "--json"], { encoding: "utf8" });
    const told = JSON.parse(batch.stdout || "{}");
    holds("batch reads it and says how it fits", batch.status === 0 && told.texts === 1 && told.rows[0].fits === "with-help", batch.stdout + batch.stderr);
    await browser.close();
  },

  async levels() {
    const browser = await browserWith(), kit = JSON.parse(readFileSync(join(kits, "north-bench.json"), "utf8"));
    kit.publish = { licence_file: "licence.txt" }, kit.open = [{ pointer: "/frame/dome/radius_mm" }];
    const page = await live(browser, pageOf("north", JSON.stringify(kit))), said = () => page.innerText("#map-said");
    // A bed that leans to the front left corner by 0.6 mm, on a grid of 5 by 5.
    const rows = [];
    for (let y = -100; y <= 100; y += 50) for (let x = -100; x <= 100; x += 50) rows.push(`${x},${y},${(0.0015 * (x + y)).toFixed(4)}`);
    await page.fill("#map-text", rows.join("\n"));
    await page.click("#map-work");
    holds("it never guesses which way a map lies", (await said()).includes("wrong guess"), await said());
    await page.selectOption("#map-sign", "high"), await page.selectOption("#map-turned", "0");
    await page.click("#map-work");
    await page.waitForSelector("#map-said table");
    const shims = Object.fromEntries(await page.$$eval("#map-said tbody tr", list => list.map(r => [r.cells[0].textContent, r.cells[1].textContent])));
    writeFileSync(join(work, "map.csv"), rows.join("\n") + "\n");
    const native = JSON.parse(execFileSync(program, ["level", join(work, "map.csv"), "--kit", join(kits, "north-bench.json"), "--json"], { encoding: "utf8" }));
    const same = native.mounts.every(m => shims[m.id] === (m.shim_mm > 0 ? m.shim_mm + " mm" : "nothing"));
    holds("the shims are those of the native level", same && native.mounts.some(m => m.shim_mm > 0), JSON.stringify(shims) + JSON.stringify(native.mounts.map(m => m.shim_mm)));
    await page.fill("#map-text", "1,2\nhello");
    await page.click("#map-work");
    await page.waitForFunction(() => document.getElementById("map-said").textContent.includes("could not be read"));
    holds("what is no map is told", (await said()).length > 40, await said());
    quiet(page);
    await browser.close();
  },

  /// A kit that names its author's bed maps: they travel along and count into the bytes, but are no visitor's.
  async authors_map() {
    const browser = await browserWith(), kit = JSON.parse(readFileSync(join(kits, "north-bench.json"), "utf8"));
    kit.publish = { licence_file: "licence.txt" }, kit.open = [{ pointer: "/frame/dome/radius_mm" }];
    kit.bed_map = { ...JSON.parse(readFileSync(join(kits, "twist-bench.json"), "utf8")).bed_map, files: maps };
    const page = await live(browser, pageOf("mapped", JSON.stringify(kit)), { acceptDownloads: true });
    const shown = () => page.evaluate(() => [document.querySelectorAll("#map-advice, #level .maps").length, document.getElementById("level").textContent.includes("positive number")]);
    holds("the author's map is not shown as the visitor's", String(await shown()) === "0,false", String(await shown()));
    await answered(page, () => page.fill("#field-0", "2450"));
    holds("nor after a change", String(await shown()) === "0,false", String(await shown()));
    const all = await saved(page, "#save-all"), entries = entriesOf(all.bytes), top = [...entries.keys()].find(k => k.endsWith("/kit.json")).replace("kit.json", "");
    const made = native(entries.get(top + "kit.json").toString());
    const differ = [...made.files].filter(([name, bytes]) => !(entries.get(top + "set/" + name) || Buffer.alloc(0)).equals(bytes)).map(([name]) => name);
    holds("the set with its maps is the native program's, byte for byte", differ.length === 0 && made.files.size > 5, differ.join(", "));
    holds("the maps lie beside the kit file", maps.every(m => (entries.get(top + m) || Buffer.alloc(0)).equals(readFileSync(join(kits, m)))));
    holds("the visitor's own report has the maps that its kit names", made.files.get("report.html").includes("twist-bench-map-1.txt"));
    quiet(page);
    await browser.close();
  },

  async live() {
    const browser = await browserWith(), page = await live(browser, pageOf("shared"));
    // The least of several: what else the machine does is not the page's.
    const times = await page.evaluate(async () => {
      const input = document.getElementById("field-0"), list = [];
      for (let i = 0; i < 12; ++i) {
        const start = performance.now(), shown = +(document.documentElement.dataset.shown || 0);
        input.value = String(2000 + 37 * i);
        input.dispatchEvent(new Event("input", { bubbles: true }));
        while (+(document.documentElement.dataset.shown || 0) === shown) await new Promise(done => setTimeout(done, 2));
        list.push([performance.getEntriesByName("drawn").at(-1).startTime - start, performance.getEntriesByName("told").at(-1).startTime - start]);
        await new Promise(done => setTimeout(done, 500));
      }
      return list;
    });
    const least = k => Math.min(...times.map(t => t[k]));
    console.log("drawn after " + times.map(t => t[0].toFixed(0)).join(" ") + " ms; checked after " + times.map(t => t[1].toFixed(0)).join(" "));
    holds(`drawn again within ${busy} times ${mostRedrawMs} ms`, least(0) < busy * mostRedrawMs, least(0));
    quiet(page);
    await browser.close();
  },

  async many_changes() {
    const browser = await browserWith(countsMemory), page = await live(browser, pageOf("shared"));
    await changesLeaveNothing(page, 10, 60);
    quiet(page);
    await browser.close();
  },

  async phone() {
    const browser = await browserWith(), page = await live(browser, pageOf("shared"), { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true });
    await answered(page, () => page.fill("#field-0", "2600"));
    holds("nothing runs out sideways", (await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)) <= 0);
    const small = await page.$$eval("#s-yours button, #s-yours input, #files button, #s-yours summary", list => list.filter(e => e.offsetParent && e.getBoundingClientRect().height < 24).map(e => e.textContent || e.id));
    holds("what is touched is large enough", small.length === 0, small.join(", "));
    await audit(page, "phone");
    quiet(page);
    await browser.close();
  },

  async keyboard() {
    const browser = await browserWith(), page = await live(browser, pageOf("shared"));
    await page.focus("#field-0");
    await page.keyboard.press("Control+a");
    await answered(page, () => page.keyboard.type("2600", { delay: 5 }));
    // On a busy machine the first answer is to a part of what is typed.
    await page.waitForFunction(() => document.getElementById("verdict").innerText.includes("with help"), null, { timeout: 20000 }).catch(() => {});
    holds("typed, without a mouse", (await page.innerText("#verdict")).includes("with help"));
    holds("the focus stays in the field while all else is drawn anew", (await page.evaluate(() => document.activeElement.id)) === "field-0");
    const reached = new Set();
    for (let i = 0; i < 140; ++i) {
      await page.keyboard.press("Tab");
      reached.add(await page.evaluate(() => document.activeElement.id || document.activeElement.dataset.file || document.activeElement.tagName));
    }
    for (const id of ["field-1", "field-2", "field-2-1", "field-3", "back", "view", "save-all", "save-kit"]) holds(id + " is reached by keys", reached.has(id));
    quiet(page);
    await browser.close();
  },

  async accessible() {
    for (const colorScheme of ["light", "dark"]) {
      const browser = await browserWith(), page = await live(browser, pageOf("shared"), { colorScheme });
      await audit(page, colorScheme + ", as opened");
      await page.evaluate(() => document.querySelectorAll("details").forEach(d => (d.open = true)));
      await answered(page, () => page.fill("#field-0", "3600"));
      await page.fill("#field-1", "x");
      await audit(page, colorScheme + ", changed and faulty");
      quiet(page);
      await browser.close();
    }
  },

  async paper() {
    const browser = await browserWith(), page = await live(browser, pageOf("shared"));
    await answered(page, () => page.fill("#field-0", "2600"));
    await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
    await page.emulateMedia({ media: "print" });
    holds("the visitor's values and the answer are on paper", (await page.inputValue("#field-0")) === "2600" && (await page.isVisible("#field-0")) && (await page.isVisible("#verdict")));
    holds("what only a screen can do is not", !(await page.isVisible("#s-carry")) && !(await page.isVisible("#back")));
    const pdf = await page.pdf({ format: "A4" });
    holds("it prints", pdf.length > 20000);
    quiet(page);
    await browser.close();
  },

  async without() {
    const browser = await browserWith(), file = pageOf("shared");
    const plain = await opened(browser, file, { before: () => { delete globalThis.WebAssembly; }, acceptDownloads: true });
    await plain.waitForSelector("html[data-live=no]");
    holds("no WebAssembly: a sentence says so", (await plain.innerText("#core-state")).includes("no WebAssembly"), await plain.innerText("#core-state"));
    holds("no WebAssembly: the published set is there", (await plain.locator("#sizes tbody tr").count()) > 20 && (await plain.isDisabled("#field-0")));
    const part = await saved(plain, "#print-parts .save");
    holds("no WebAssembly: its parts can be saved", part.bytes.equals(native(sharedText()).files.get("stl/" + part.name)));
    quiet(plain);
    const noWorker = await live(browser, file, { before: () => { globalThis.Worker = undefined; } });
    await answered(noWorker, () => noWorker.fill("#field-0", "2600"));
    holds("no workers: the page computes by itself", (await noWorker.innerText("#verdict")).includes("with help"));
    quiet(noWorker);
    const packed = await opened(browser, file, { before: () => { delete globalThis.DecompressionStream; } });
    await packed.waitForSelector("html[data-live=no]");
    holds("nothing unpacks: a sentence, and our own renderer", (await packed.innerText("#core-state")).includes("cannot unpack") && (await packed.evaluate(() => document.documentElement.dataset.painter)) === "paper");
    quiet(packed);
    await browser.close();
    const flat = await browserWith(["--disable-3d-apis"]), page = await live(flat, file);
    await answered(page, () => page.fill("#field-0", "2600"));
    holds("no WebGL: our own renderer, all else works", (await page.evaluate(() => document.documentElement.dataset.painter)) === "paper" && (await page.innerText("#verdict")).includes("with help"));
    quiet(page);
    await flat.close();
  },

  async hostile() {
    const strings = ["<script>window.ran=1</script>", "\"><img src=x onerror=\"window.ran=1\">", "]]></script><script>window.ran=1</script>", "<!--<script>", "\u2028\u2029", "&lt;b&gt; &amp; 'quotes' \\u003c", "`code` ${window.ran=1}", "javascript:window.ran=1"];
    const kit = JSON.parse(sharedText()), all = strings.join(" ");
    kit.kit = "hostile", kit.title = all.slice(0, 200), kit.note = all, kit.printer.name = strings[1];
    kit.open[0].label = strings[0] + strings[1], kit.open[0].help = all, kit.open[0].measure = all;
    kit.publish.tested[0].result = all.slice(0, 200), kit.publish.changes[0].what = all.slice(0, 200), kit.publish.licence = "x" + strings[0].slice(0, 20);
    const browser = await browserWith(), page = await live(browser, pageOf("hostile", JSON.stringify(kit)));
    await page.evaluate(() => document.querySelectorAll("details").forEach(d => (d.open = true)));
    await answered(page, () => page.fill("#field-0", "2600"));
    const seen = await page.evaluate(() => document.body.textContent);
    for (const s of strings) holds("stands as text: " + JSON.stringify(s), seen.includes(s.replace(/`/g, "")) || seen.includes(s));
    holds("nothing ran", (await page.evaluate(() => window.ran)) === undefined);
    holds("no element came of it", (await page.evaluate(() => document.querySelectorAll("img, iframe, object, embed, b").length)) === 0);
    quiet(page);
    await browser.close();
  },

  /// The watchers themselves: each must see what is done to a copy of the page.
  async objects() {
    const browser = await browserWith(), text = readFileSync(pageOf("shared"), "utf8");
    await spoilt(browser, text, "a request", t => t.replace(/<meta http-equiv="Content-Security-Policy"[^>]*>/, "").replace("</body>", "<img alt=\"\" src=\"http://127.0.0.1:9/x.png\"></body>"), async p => (await p.waitForTimeout(300), quiet(p)));
    await spoilt(browser, text, "a request that the page's policy stops", t => t.replace("</body>", "<script>1</script></body>"), async p => quiet(p));
    await spoilt(browser, text, "a core that is not the one", t => t.replace(/(id="core-wasm">.{2000})..../, "$1AAAA"), async p => (await p.waitForSelector("html[data-live]"), holds("", (await p.evaluate(() => document.documentElement.dataset.live)) === "yes")));
    await browser.close();
    const counting = await browserWith(countsMemory);
    for (const [what, left] of [["elements left behind", "for (let i = 0; i < 100; ++i) document.body.append(document.createElement('i'))"], ["memory left taken", "(window.kept ||= []).push(new Array(4e6).fill(0.5))"]])
      await spoilt(counting, text, what, t => t.replace(/<meta http-equiv="Content-Security-Policy"[^>]*>/, "").replace("</body>", `<script>addEventListener("input", () => { ${left}; });</script></body>`),
        async p => (await p.waitForSelector("html[data-made]"), await changesLeaveNothing(p, 2, 8)));
    await counting.close();
  },
};

await runCase(cases, which);
