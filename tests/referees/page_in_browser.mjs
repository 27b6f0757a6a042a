// report.html in a real browser: node page_in_browser.mjs PROGRAM KITS CASE. Exit 0: all of the case holds.
// What is known beforehand (silhouettes, holes, bytes) comes from the set's files and is worked out here, not by the page.
import { execFileSync } from "node:child_process";
import { existsSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { audit, browserWith, holds, opened, quiet, runCase, settled, spoilt, work } from "./in_browser.mjs";

const [program, kits, which] = process.argv.slice(2);
// What the page promises of a machine with nothing else to do; a busy one may take so many times as long.
const mostOpenMs = 2000, busy = 4, mostBytes = 10e6;
const silhouetteShare = 0.02;

function setOf(kit) {
  const folder = join(work, kit);
  if (existsSync(folder)) return folder;
  const file = kit.endsWith(".json") ? kit : join(kits, kit + ".json");
  execFileSync(program, ["make", file, "--out", folder], { stdio: "ignore" });
  return folder;
}
const reportOf = folder => JSON.parse(readFileSync(join(folder, "report.json"), "utf8"));

/// Pixels of the view that are not empty, and millimetres a pixel, read from what was really painted.
const painted = page => page.evaluate(() => {
  const view = document.getElementById("view"), copy = document.createElement("canvas");
  copy.width = view.width, copy.height = view.height;
  const context = copy.getContext("2d");
  context.drawImage(view, 0, 0);
  const bytes = context.getImageData(0, 0, copy.width, copy.height).data;
  let count = 0, sum = 0;
  for (let i = 0; i < bytes.length; i += 4) if (bytes[i + 3] > 127) ++count, sum = (sum * 31 + i + bytes[i] + 3 * bytes[i + 1] + 7 * bytes[i + 2]) % 1000003;
  return { count, sum, mm: +view.dataset.mmPerPixel, subject: view.dataset.subject, painter: document.documentElement.dataset.painter };
});

function facetsOf(stl) {
  const facets = [];
  for (let i = 0; i < stl.readUInt32LE(80); ++i) facets.push([0, 1, 2].map(k => [0, 1, 2].map(c => stl.readFloatLE(84 + 50 * i + 12 + 12 * k + 4 * c))));
  return facets;
}

/// Area of the shadow that a part's file casts along Z of its part frame: rows of exact intervals, 0.02 mm apart.
function shadowArea(folder, part) {
  const m = part.print_to_part, facets = facetsOf(readFileSync(join(folder, part.file))).map(f => f.map(p => [0, 1].map(k => m[4 * k] * p[0] + m[4 * k + 1] * p[1] + m[4 * k + 2] * p[2] + m[4 * k + 3])));
  const step = 0.02, rows = new Map();
  for (const f of facets) {
    const ys = f.map(p => p[1]);
    for (let r = Math.ceil(Math.min(...ys) / step - 0.5); (r + 0.5) * step < Math.max(...ys); ++r) {
      const y = (r + 0.5) * step, xs = [];
      for (let k = 0; k < 3; ++k) {
        const a = f[k], b = f[(k + 1) % 3];
        if ((a[1] < y) !== (b[1] < y)) xs.push(a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]));
      }
      if (xs.length === 2) rows.set(r, [...(rows.get(r) || []), [Math.min(...xs), Math.max(...xs)]]);
    }
  }
  let area = 0;
  for (const spans of rows.values()) {
    spans.sort((a, b) => a[0] - b[0]);
    let end = -Infinity;
    for (const [from, to] of spans) area += Math.max(0, to - Math.max(from, end)) * step, end = Math.max(end, to);
  }
  return area;
}

async function lookAt(page, subject, from) {
  await page.selectOption("#subject", subject);
  if (from) await page.click(`[data-look=${from}]`);
  await settled(page);
}

const cases = {
  async opens() {
    const browser = await browserWith();
    for (const kit of ["whole-bench", "every-option"]) {
      const folder = setOf(kit), file = join(folder, "report.html");
      holds(kit + ": less than 10 MB", statSync(file).size < mostBytes, statSync(file).size);
      // The least of five: what else the machine does at that moment is not the page's.
      let least = Infinity;
      for (let i = 0; i < 5; ++i) {
        const page = await opened(browser, file), ms = await page.evaluate(() => performance.getEntriesByName("ready")[0].startTime);
        least = Math.min(least, ms);
        quiet(page);
        if (i === 0)
          for (const section of await page.locator("main > section").all())
            holds(kit + ": " + (await section.getAttribute("id")) + " is not empty", (await section.innerText()).length > 60 || (await section.locator("canvas").count()) > 0);
        await page.context().close();
      }
      holds(`${kit}: opens in less than ${busy} times 2 s, here ${Math.round(least)} ms`, least < busy * mostOpenMs);
    }
    await browser.close();
  },

  async contents() {
    const browser = await browserWith(), folder = setOf("north-bench"), told = reportOf(folder), page = await opened(browser, join(folder, "report.html"));
    await page.evaluate(() => document.querySelectorAll("details").forEach(d => (d.open = true)));
    const text = await page.innerText("body");
    const has = (what, words) => holds("says " + what, words.every(w => text.includes(w)), words.find(w => !text.includes(w)));
    has("every finding's remedy", told.findings.filter(f => f.remedy).map(f => f.remedy.slice(1)));
    has("every piece of hardware", told.hardware.map(h => h.item));
    has("every step", told.steps.map(s => s.do.slice(1)));
    has("every caution", told.cautions.map(c => c.text.slice(1)));
    has("every note", told.notes.map(n => n.text));
    has("every wrong way", told.wrong_ways.map(w => w.consequence));
    has("who decides", ["Local codes and licensed people decide."]);
    holds("a row for each dimension", (await page.locator("#sizes tbody tr").count()) === told.parts.reduce((s, p) => s + p.dimensions.length, 0));
    holds("a picture for each wrong way", (await page.locator("#ways tbody svg").count()) === told.wrong_ways.length);
    holds("a drawing of each print bed with each piece", (await page.locator("#print-parts svg .shadow-body").count()) === told.beds.reduce((s, b) => s + b.items.length, 0));
    holds("screws drawn", (await page.locator("#screws svg").count()) > 3);
    holds("a gap map for each place", (await page.locator("#gaps figure").count()) === told.parts.reduce((s, p) => s + (p.seat_gap || []).length, 0));
    // To a sixteenth of a chord of 0.01 mm, as the check of the seats samples, and half a printed step.
    const squares = await page.$$eval("#gaps figure .gap-text", list => list.map(t => +t.textContent));
    const most = Math.max(...told.parts.flatMap(p => (p.seat_gap || []).map(g => g.greatest_mm * 1000)));
    holds("no square of a gap map beyond the greatest gap told", squares.length > 100 && squares.every(v => v <= most + 0.7 && v >= -0.7), Math.max(...squares) + " of " + most);
    const drawn = await page.waitForFunction(() => {
      const list = [...document.querySelectorAll("#steps canvas")];
      return list.length > 4 && list.every(c => c.getContext("2d").getImageData(0, 0, c.width, c.height).data.some(v => v > 0));
    }, null, { timeout: 20000, polling: 300 }).catch(() => null);
    holds("every step's picture is drawn", drawn !== null);
    const outside = await page.$$eval("[href], [src], form", list => list.map(e => e.getAttribute("href") ?? e.getAttribute("src") ?? e.getAttribute("action") ?? "").filter(a => !a.startsWith("#") && a !== "data:,"));
    holds("no link leaves the page", outside.length === 0, outside.join(" "));
    quiet(page);
    await browser.close();
  },

  async views() {
    const browser = await browserWith(), folder = setOf("whole-bench"), page = await opened(browser, join(folder, "report.html"));
    let last = await painted(page);
    holds("painted by WebGL", last.painter === "webgl", last.painter);
    holds("the machine is there", last.count > 20000, last.count);
    const changes = async (what, act) => {
      await act();
      await settled(page);
      const now = await painted(page);
      holds(what + " changes the picture", now.sum !== last.sum || now.count !== last.count);
      last = now;
    };
    for (const look of ["above", "front", "rear", "left", "right", "below", "corner"]) await changes("look from " + look, () => page.click(`[data-look=${look}]`));
    await changes("taken apart", () => page.fill("#apart", "1"));
    await changes("half apart", () => page.fill("#apart", "0.5"));
    await page.fill("#apart", "0");
    await settled(page), (last = await painted(page));
    for (const kind of ["bed", "sheet", "rail", "base"]) await changes("hiding " + kind, () => page.uncheck(`[data-kind=${kind}]`));
    for (const kind of ["bed", "sheet", "rail", "base"]) await page.check(`[data-kind=${kind}]`);
    await changes("nearer", () => page.click("#nearer"));
    await changes("farther", () => page.click("#farther").then(() => page.click("#farther")));
    await changes("whole", () => page.click("#fit"));
    for (const axis of ["0", "1", "2"]) await changes("cut across " + axis, () => page.selectOption("#cut-axis", axis));
    await changes("the section moves", () => page.fill("#cut-share", "0.2"));
    await changes("the other half", () => page.check("#cut-flip"));
    holds("the section says where", /z = -?[\d.]+ mm/.test(await page.innerText("#cut-at")));
    await page.selectOption("#cut-axis", "-1");
    const box = await page.locator("#view").boundingBox(), at = [box.x + box.width / 2, box.y + box.height / 2];
    await changes("dragging turns", async () => {
      await page.mouse.move(...at), await page.mouse.down(), await page.mouse.move(at[0] + 80, at[1] + 30, { steps: 4 }), await page.mouse.up();
    });
    await changes("dragging with Shift pushes", async () => {
      await page.keyboard.down("Shift"), await page.mouse.move(...at), await page.mouse.down(), await page.mouse.move(at[0] + 80, at[1], { steps: 4 }), await page.mouse.up(), await page.keyboard.up("Shift");
    });
    await page.focus("#view");
    await changes("the wheel", async () => (await page.mouse.move(...at), await page.mouse.wheel(0, -200), await page.waitForTimeout(200)));
    for (const part of reportOf(folder).parts) {
      await lookAt(page, part.id, "above");
      const now = await painted(page);
      holds(part.id + " alone", now.subject === part.id && now.count > 5000, now.count);
    }
    for (const theme of ["dark", "light", ""]) await page.selectOption("#theme", theme);
    const finding = page.locator("#findings [data-to=part]").first();
    await finding.click();
    await settled(page);
    holds("a finding's place is read out and ringed", (await page.innerText("#readout")).length > 10 && (await page.locator("#spot").evaluate(e => e.style.display)) === "block");
    quiet(page);
    await browser.close();
  },

  async silhouette() {
    const folder = setOf("whole-bench"), told = reportOf(folder);
    for (const extra of [[], ["--disable-3d-apis"]]) {
      const browser = await browserWith(extra), page = await opened(browser, join(folder, "report.html"));
      for (const part of told.parts) {
        await lookAt(page, part.id, "above");
        const seen = await painted(page), known = shadowArea(folder, part), area = seen.count * seen.mm ** 2;
        holds(`${part.id}, ${seen.painter}: ${area.toFixed(1)} mm2 painted, ${known.toFixed(1)} mm2 known`, seen.painter === (extra.length ? "paper" : "webgl") && Math.abs(area / known - 1) < silhouetteShare);
      }
      quiet(page);
      await browser.close();
    }
  },

  async picking() {
    const folder = setOf("north-bench"), told = reportOf(folder);
    for (const extra of [[], ["--disable-3d-apis"]]) {
      const browser = await browserWith(extra), page = await opened(browser, join(folder, "report.html"));
      const part = told.parts.find(p => p.id === "adapter-a");
      await lookAt(page, part.id, "above");
      // Where a hole's wall is on the screen follows from the drawing alone: the part's box is in the middle of the view.
      const m = part.print_to_part, points = facetsOf(readFileSync(join(folder, part.file))).flat().map(p => [0, 1].map(k => m[4 * k] * p[0] + m[4 * k + 1] * p[1] + m[4 * k + 2] * p[2] + m[4 * k + 3]));
      const middle = [0, 1].map(k => (Math.min(...points.map(p => p[k])) + Math.max(...points.map(p => p[k]))) / 2);
      const click = async (x, y) => {
        const box = await page.locator("#view").boundingBox(), { mm } = await painted(page);
        await page.mouse.click(box.x + box.width / 2 + (x - middle[0]) / mm, box.y + box.height / 2 - (y - middle[1]) / mm);
        await settled(page);
      };
      const bore = part.features.find(f => f.id === "counterbore-1"), hole = part.dimensions.filter(d => d.feature === "counterbore-1");
      const wide = hole.find(d => d.quantity === "width").nominal_mm, narrow = part.dimensions.find(d => d.feature === "carriage-hole-1" && d.quantity === "width").nominal_mm;
      // On the counterbore's floor, between the screw's hole and the wall, on the narrow side.
      await click(bore.at_mm[0], bore.at_mm[1] + (wide + narrow) / 4);
      const read = await page.innerText("#readout");
      holds("clicking a counterbore reads it out", read.includes("counterbore-1") && hole.every(d => read.includes(String(+d.measured_mm.toFixed(4)))), read.replace(/\s+/g, " "));
      const here = await page.$$eval("tr.here", rows => rows.map(r => r.cells[0].innerText + " " + r.cells[1].innerText));
      holds("its rows are marked", here.length === hole.length && here.every(h => h.startsWith("counterbore-1")), here.join(", "));
      await page.click("#readout .link");
      holds("its row comes into sight, with the focus", await page.evaluate(() => document.activeElement.closest("tr.here") !== null));
      const plain = await painted(page);
      await page.locator("#sizes tr", { hasText: "frame-hole-front-left" }).first().locator("button").click();
      await settled(page);
      const marked = await painted(page);
      holds("a row marks its place in the view", (await page.innerText("#readout")).includes("frame-hole-front-left") && marked.sum !== plain.sum);
      await lookAt(page, part.id, "above");
      await page.mouse.click((await page.locator("#view").boundingBox()).x + 5, (await page.locator("#view").boundingBox()).y + 5);
      holds("clicking beside the part says so", (await page.innerText("#readout")).includes("Nothing there"));
      await lookAt(page, "", "above");
      const bed = await page.locator("#view").boundingBox();
      await page.mouse.click(bed.x + bed.width / 2, bed.y + bed.height / 2);
      holds("in the machine the bed is told as a body", (await page.innerText("#readout")).toLowerCase().includes("bed"));
      quiet(page);
      await browser.close();
    }
  },

  async keyboard() {
    const browser = await browserWith(), page = await opened(browser, join(setOf("north-bench"), "report.html"));
    await page.keyboard.press("Tab");
    holds("first comes the skip link, to be seen", await page.evaluate(() => document.activeElement.className === "skip" && document.activeElement.getBoundingClientRect().left >= 0));
    await page.keyboard.press("Enter");
    holds("it leads to the set", await page.evaluate(() => document.activeElement.id === "main"));
    const names = new Set(), unseen = [];
    for (let i = 0; i < 400; ++i) {
      await page.keyboard.press("Tab");
      const at = await page.evaluate(() => {
        const e = document.activeElement, s = getComputedStyle(e);
        return { id: e.id || e.dataset.look || e.dataset.kind || e.className, body: e === document.body, seen: s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2 };
      });
      if (at.body) break;
      if (!at.seen) unseen.push(at.id);
      names.add(at.id);
    }
    holds("focus is seen wherever it goes", unseen.length === 0, [...new Set(unseen)].join(", "));
    for (const id of ["view", "subject", "corner", "nearer", "apart", "bed", "cut-axis", "cut-share", "cut-flip"]) holds("the keyboard reaches " + id, names.has(id));
    await page.focus("#subject");
    await page.keyboard.type("adapter-a");
    await settled(page);
    holds("a part is chosen by its name", (await painted(page)).subject === "adapter-a");
    await page.focus("#view");
    let last = await painted(page);
    for (const key of ["ArrowLeft", "ArrowUp", "Shift+ArrowRight", "+", "-", "0"]) {
      await page.keyboard.press(key);
      await settled(page);
      const now = await painted(page);
      holds(key + " changes the view", now.sum !== last.sum || now.count !== last.count);
      last = now;
    }
    await page.keyboard.press("Enter");
    holds("Enter reads what is in the middle", (await page.innerText("#readout")).length > 5);
    await page.focus("#findings [data-to=part]");
    await page.keyboard.press("Enter");
    holds("Show takes the focus to the view", await page.evaluate(() => document.activeElement.id === "view"));
    quiet(page);
    await browser.close();
  },

  async phone() {
    const browser = await browserWith();
    for (const kit of ["north-bench", "whole-bench", "twist-bench", "every-option", "bench-gauges"]) {
      const page = await opened(browser, join(setOf(kit), "report.html"), { viewport: { width: 360, height: 740 }, deviceScaleFactor: 2, hasTouch: true, isMobile: true });
      await page.evaluate(() => document.querySelectorAll("details").forEach(d => (d.open = true)));
      const beyond = await page.evaluate(() => document.documentElement.scrollWidth - 360);
      holds(kit + ": no sideways scroll at 360 px", beyond <= 0, beyond + " px");
      const small = await page.$$eval("button, select, summary, input, nav a", list => list.filter(e => e.offsetParent && Math.min(e.offsetHeight, e.offsetWidth) < (e.type === "checkbox" || e.type === "range" ? 15 : 24)).map(e => e.id || e.innerText || e.type));
      holds(kit + ": everything to touch is large enough", small.length === 0, small.slice(0, 5).join(", "));
      quiet(page);
      await page.context().close();
    }
    await browser.close();
  },

  async paper() {
    const browser = await browserWith(), folder = setOf("whole-bench"), page = await opened(browser, join(folder, "report.html"), { colorScheme: "dark" });
    const pdf = await page.pdf({ preferCSSPageSize: true });
    writeFileSync(join(work, "page.pdf"), pdf);
    const text = pdf.toString("latin1"), sheets = (text.match(/\/Type\s*\/Page\b/g) || []).length;
    holds("prints to PDF", text.startsWith("%PDF") && sheets > 5, sheets + " sheets");
    const sizes = [...text.matchAll(/\/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)/g)].map(m => [+m[1], +m[2]]);
    // A4 is 595.28 x 841.89 points (ISO 216).
    holds("on A4", sizes.length > 0 && sizes.every(([w, h]) => Math.abs(w - 595.28) < 1.5 && Math.abs(h - 841.89) < 1.5), sizes[0]);
    const shut = await page.evaluate(() => {
      dispatchEvent(new Event("beforeprint"));
      const paper = getComputedStyle(document.documentElement).getPropertyValue("--paper").trim();
      const closed = document.querySelectorAll("details:not([open])").length;
      const blank = [...document.querySelectorAll("#steps canvas")].filter(c => !c.getContext("2d").getImageData(0, 0, c.width, c.height).data.some(v => v > 0)).length;
      dispatchEvent(new Event("afterprint"));
      return { paper, closed, blank, after: document.querySelectorAll("details:not([open])").length };
    });
    holds("nothing stays folded, no picture stays blank on paper", shut.closed === 0 && shut.blank === 0 && shut.after > 0, JSON.stringify(shut));
    holds("the paper is light though the screen is dark", shut.paper === "#fbfaf6", shut.paper);
    await page.emulateMedia({ media: "print" });
    holds("rows do not break", await page.$$eval("tr", list => list.every(r => getComputedStyle(r).breakInside === "avoid")));
    holds("controls are not printed", !(await page.isVisible("#looks")) && !(await page.isVisible("nav")));
    quiet(page);
    // 120 blocked wrong ways and 222 dimensions: the most that a demo kit asks of the paper.
    const twist = await opened(browser, join(setOf("twist-bench"), "report.html"), { viewport: { width: 688, height: 1016 } });
    const many = ((await twist.pdf({ preferCSSPageSize: true })).toString("latin1").match(/\/Type\s*\/Page\b/g) || []).length;
    holds(`twist-bench takes ${many} sheets`, many > 5 && many <= 25);
    await twist.evaluate(() => document.querySelectorAll("details").forEach(d => (d.open = true)));
    await twist.emulateMedia({ media: "print" });
    // 688 pixels are the 182 mm between A4's margins.
    const wide = await twist.$$eval("table, svg, .figures, .stage", list => list.filter(e => e.checkVisibility() && [...e.getClientRects()].some(b => b.right > innerWidth + 1.5)).map(e => (e.caption || e).textContent.slice(0, 40)));
    holds("nothing on paper runs out sideways", wide.length === 0, wide.join(" | "));
    quiet(twist);
    await browser.close();
  },

  async accessible() {
    for (const extra of [[], ["--disable-3d-apis"]]) {
      const browser = await browserWith(extra);
      for (const colorScheme of ["light", "dark"]) {
        const page = await opened(browser, join(setOf("twist-bench"), "report.html"), { colorScheme });
        await page.locator("#findings [data-to=part]").first().click();
        await audit(page, colorScheme + ", folded");
        await page.evaluate(() => document.querySelectorAll("details").forEach(d => (d.open = true)));
        await audit(page, colorScheme + ", unfolded");
        quiet(page);
        await page.context().close();
      }
      await browser.close();
    }
    const browser = await browserWith(), page = await opened(browser, join(setOf("whole-bench"), "report.html"), { viewport: { width: 360, height: 740 } });
    await audit(page, "phone");
    await browser.close();
  },

  async without_webgl() {
    const browser = await browserWith(["--disable-3d-apis"]), page = await opened(browser, join(setOf("north-bench"), "report.html"));
    let last = await painted(page);
    holds("our own renderer stands in", last.painter === "paper" && last.count > 20000, JSON.stringify(last));
    for (const [what, act] of [["looking from above", () => page.click("[data-look=above]")], ["put together", () => page.fill("#apart", "0")], ["cut", () => page.selectOption("#cut-axis", "1")], ["a part", () => page.selectOption("#subject", "riser")], ["nearer", () => page.click("#nearer")]]) {
      await act();
      await settled(page);
      const now = await painted(page);
      holds(what + " works", now.sum !== last.sum);
      last = now;
    }
    quiet(page);
    await browser.close();
    const other = await browserWith(), lost = await opened(other, join(setOf("north-bench"), "report.html"));
    await lost.evaluate(() => document.getElementById("view").getContext("webgl").getExtension("WEBGL_lose_context").loseContext());
    await lost.waitForSelector("html[data-painter=paper]", { timeout: 15000 }).catch(() => {});
    await settled(lost);
    const stood = await painted(lost);
    holds("where WebGL is lost later, too", stood.painter === "paper" && stood.count > 20000, JSON.stringify(stood));
    await other.close();
  },

  async hostile() {
    const strings = ["<script>window.ran=1</script>", "\"><img src=x onerror=\"window.ran=1\">", "]]></script><script>window.ran=1</script>", "<!--<script>", "\u202Eright to left\u202C", "\u{1F529}\u{1F9F0}", "${window.ran=1}", "javascript:window.ran=1", "\u2028\u2029", "&lt;b&gt; &amp; 'quotes' \\u003c"];
    const kit = JSON.parse(readFileSync(join(kits, "north-bench.json"), "utf8")), all = strings.join(" ");
    kit.kit = "hostile", kit.title = all.slice(0, 200), kit.note = all, kit.printer.name = strings[1], kit.parts[0].note = all;
    kit.joints[0].behind.what = strings[0] + strings[4], kit.joints[0].layers[0].name = strings[1], kit.joints[0].also_holds = strings[2];
    for (const base of [kit.frame, kit.rails, kit.bed]) base.note = all;
    const file = join(work, "hostile.json");
    writeFileSync(file, JSON.stringify(kit));
    const folder = join(work, "hostile");
    execFileSync(program, ["make", file, "--out", folder], { stdio: "ignore" });
    for (const extra of [[], ["--disable-3d-apis"]]) {
      const browser = await browserWith(extra), page = await opened(browser, join(folder, "report.html"));
      await page.evaluate(() => document.querySelectorAll("details").forEach(d => (d.open = true)));
      const seen = await page.evaluate(() => document.body.textContent);
      for (const s of strings) holds("stands as text: " + JSON.stringify(s), seen.includes(s));
      holds("nothing ran", (await page.evaluate(() => window.ran)) === undefined);
      const made = await page.evaluate(() => [document.querySelectorAll("img, iframe, object, embed, b").length, document.scripts.length, document.title]);
      holds("no element came of it", made[0] === 0 && made[1] === 3 && made[2] === "hostile revision A", made.join(" "));
      quiet(page);
      await browser.close();
    }
  },

  async saves() {
    const browser = await browserWith(), folder = setOf("twist-bench"), page = await opened(browser, join(folder, "report.html"), { acceptDownloads: true });
    for (const part of reportOf(folder).parts) {
      const waiting = page.waitForEvent("download");
      await page.locator("#print-parts .save", { hasText: part.id + " .stl" }).first().click();
      const kept = await waiting, bytes = readFileSync(await kept.path());
      holds(part.id + ": the file saved from the page is the set's, byte for byte", kept.suggestedFilename() === part.id + ".stl" && bytes.equals(readFileSync(join(folder, part.file))));
    }
    quiet(page);
    await browser.close();
  },

  async levels() {
    const browser = await browserWith(), page = await opened(browser, join(setOf("north-bench"), "report.html"));
    const boxes = page.locator("#level table input"), count = await boxes.count();
    holds("a reading for each mount", count === 4, count);
    // front-left 0.6 lower than the rest: 0.6 mm is 0.2 + 2 x 0.2.
    for (const [i, v] of ["-0,6", "0", "0.0", "0"].entries()) await boxes.nth(i).fill(v);
    const answers = await page.$$eval("#level table output", list => list.map(o => o.textContent));
    holds("the low mount gets its shim in whole layers, the others none", answers[0] === "0.6 mm, 3 layers" && answers.slice(1).every(a => a === "no shim"), answers.join(" | "));
    holds("the twist in it is told", (await page.innerText("#level-said")).includes("diagonal"));
    await boxes.nth(0).fill("a");
    holds("what is no number is told", (await page.innerText("#level-said")).includes("no number"));
    quiet(page);
    await browser.close();
  },

  /// Every finding leads to its places, or says in words that it has none.
  async places() {
    const browser = await browserWith();
    const changed = (name, from, change) => {
      const kit = JSON.parse(readFileSync(join(kits, from + ".json"), "utf8")), file = join(work, name + ".json");
      change(kit), (kit.kit = name);
      writeFileSync(file, JSON.stringify(kit));
      return file;
    };
    const lifted = changed("lifted", "north-bench", kit => (delete kit.bed.spacer, (kit.parts.find(p => p.id === "adapter").thickness_mm = 9), delete kit.rails.base));
    // A bed that grows more than its mounts let it, and rail screws over an opening.
    const tight = changed("tight", "whole-bench", kit => {
      kit.frame.bed_mounts.diameter_mm = 4.05;
      kit.base.openings.push({ id: "slot", min_mm: [-95, -110], max_mm: [-55, -40] });
    });
    const seen = new Set();
    /// Rings as painted, and whether anything in the colour of what is lit shows at all.
    const look = page => page.evaluate(() => {
      const view = document.getElementById("view"), copy = document.createElement("canvas"), stage = view.getBoundingClientRect();
      copy.width = view.width, copy.height = view.height;
      copy.getContext("2d").drawImage(view, 0, 0);
      const bytes = copy.getContext("2d").getImageData(0, 0, copy.width, copy.height).data;
      let lit = 0;
      for (let i = 0; i < bytes.length; i += 4) if (bytes[i + 3] > 127 && bytes[i] > 120 && bytes[i] - bytes[i + 2] > 90 && bytes[i + 1] > 0.7 * bytes[i]) ++lit;
      const rings = [...document.querySelectorAll(".spot")].filter(e => getComputedStyle(e).display === "block").map(e => e.getBoundingClientRect()).map(b => [(b.left + b.width / 2 - stage.left), (b.top + b.height / 2 - stage.top)]);
      return { lit, rings, within: rings.every(r => r[0] > 0 && r[1] > 0 && r[0] < stage.width && r[1] < stage.height), subject: view.dataset.subject };
    });
    for (const from of ["north-bench", "whole-bench", "every-option", "twist-bench", lifted, tight]) {
      const folder = from.endsWith(".json") ? join(work, "set-of-" + from.split("/").pop().replace(".json", "")) : setOf(from);
      if (from.endsWith(".json")) execFileSync(program, ["make", from, "--out", folder], { stdio: "ignore" });
      const page = await opened(browser, join(folder, "report.html")), findings = reportOf(folder).findings, name = from.split("/").pop();
      await page.fill("#apart", "0");
      const lines = page.locator("#findings li");
      holds(name + ": a line a finding", (await lines.count()) === findings.length);
      for (const [i, f] of findings.entries()) {
        const buttons = await lines.nth(i).locator("button.show").all(), what = `${name}: ${f.code}`;
        if (!buttons.length) {
          holds(what + " says in words that it has no place", (await lines.nth(i).innerText()).includes("place to show"));
          seen.add("words");
        }
        for (const button of buttons) {
          await button.click();
          await settled(page);
          const words = (await button.innerText()).replace(/\s+/g, " "), to = await button.getAttribute("data-to");
          const at = await page.evaluate(() => ({ id: document.activeElement.id || document.activeElement.parentElement.id, there: document.activeElement.getBoundingClientRect().top < innerHeight && document.activeElement.getBoundingClientRect().bottom > 0, goal: (document.querySelector(".goal") || {}).id || "", readout: document.querySelector("#readout").innerText }));
          holds(`${what}, ${words}: leads to ${at.id}`, at.there && (to ? at.id === "view" && at.readout.length > 5 : at.goal !== ""), JSON.stringify(at));
          if (to === "machine") {
            const painted = await look(page);
            holds(`${what}, ${words}: something is lit`, painted.subject === "machine" && (painted.lit > 60 || painted.rings.length > 0) && painted.within, JSON.stringify(painted));
            seen.add(f.code);
            const rails = reportOf(folder).machine.rails;
            const count = { "rail-screws": rails.reduce((s, r) => s + r.screws.length, 0), "rail-holes": rails.reduce((s, r) => s + r.screws.length, 0), "no-stop": 2 * rails.length, "measured-left-out": 1, "mount-slot": reportOf(folder).machine.constraints.mounts.filter(m => m.slot_mm > 0).length,
              "rail-hole-lost": rails.filter(r => f.message.includes(`the ${r.side} rail`)).reduce((s, r) => s + r.screws.filter(q => !q.usable).length, 0) }[f.code];
            if (count !== undefined) holds(`${what}: as many rings as places, ${count}`, painted.rings.length === count, painted.rings.length);
          }
          if (words.includes("section through")) holds(`${what}: the section is that of its joint`, (await page.locator("#" + at.goal).innerText()).includes(f.feature)), seen.add("screws");
          if (words.includes("heights")) holds(`${what}: opens its sum`, at.goal.startsWith("stack-") && (await page.locator("#" + at.goal).evaluate(d => d.open))), seen.add("heights");
        }
      }
      quiet(page);
      await page.context().close();
    }
    for (const kind of ["words", "screws", "heights", "rail-screws", "carriage-height", "measured-left-out", "distinct-parts", "first-homing", "earth-path", "guideway-limits", "no-stop", "mount-slot", "rail-hole-lost"]) holds("seen: " + kind, seen.has(kind));
    // Where a ring stands follows from the machine alone: the point left out, seen from above with nothing taken apart.
    const folder = setOf("twist-bench"), page = await opened(browser, join(folder, "report.html")), f = reportOf(folder).findings.find(q => q.code === "measured-left-out");
    await page.fill("#apart", "0");
    await page.locator("#findings li", { hasText: "measured-left-out" }).first().locator("[data-to=machine]").click();
    await page.click("[data-look=above]");
    await settled(page);
    const one = await look(page), [x, y] = f.message.match(/x (-?[\d.]+), y (-?[\d.]+)/).slice(1).map(Number);
    await page.locator("#findings li", { hasText: "no-stop" }).first().locator("[data-to=machine]").click();
    await settled(page);
    const four = await look(page), mm = (await painted(page)).mm * (await page.evaluate(() => Math.min(2, devicePixelRatio)));
    // The rails' ends are symmetric about the machine's middle.
    const middle = [0, 1].map(k => four.rings.reduce((s, r) => s + r[k], 0) / 4);
    holds("a ring stands right of the middle for +X and above it for +Y, to scale", Math.hypot(one.rings[0][0] - middle[0] - x / mm, middle[1] - one.rings[0][1] - y / mm) < 4, JSON.stringify([one.rings, middle, x, y, mm]));
    quiet(page);
    await browser.close();
  },

  async bed_map() {
    const browser = await browserWith(), file = join(setOf("twist-bench"), "report.html");
    const level = JSON.parse(execFileSync(program, ["level", "--kit", join(kits, "twist-bench.json"), "--json"], { encoding: "utf8" }));
    for (const options of [{}, { colorScheme: "dark" }, { viewport: { width: 360, height: 740 } }]) {
      const page = await opened(browser, file, options), says = JSON.stringify(options);
      await page.evaluate(() => document.querySelectorAll("details").forEach(d => (d.open = true)));
      const rows = await page.$$eval("#level table", list => list.filter(t => t.caption.textContent.startsWith("Shims, all")).flatMap(t => [...t.tBodies[0].rows].map(r => [...r.cells].map(c => c.textContent))));
      const wanted = level.mounts.map(m => [m.id, m.shim_mm]);
      holds(says + " the shims are those that level advises", rows.length === wanted.length && rows.every((r, i) => r[0] === wanted[i][0] && (parseFloat(r[4]) || 0) === wanted[i][1]), JSON.stringify(rows));
      const points = await page.$$eval("#level table", list => list.filter(t => t.caption.textContent.startsWith("Points of the map")).flatMap(t => [...t.tBodies[0].rows].map(r => [...r.cells].map(c => +c.textContent.replace("−", "-")))));
      // Heights from level's own map, in another order: mean taken off, whole micrometres.
      const mean = k => level.map.reduce((s, p) => s + p[k], 0) / level.map.length, off = points.map(p => {
        const q = level.map.find(m => Math.hypot(m[0] - p[0], m[1] - p[1]) < 0.1);
        return q ? Math.max(Math.abs(1000 * (q[2] - mean(2)) - p[2]), Math.abs(1000 * (q[3] - mean(3)) - p[3])) : 1e9;
      });
      holds(says + " the numbers are level's", points.length === level.map.length && Math.max(...off) <= 0.61, Math.max(...off));
      const plans = await page.$$eval("#level .maps svg", list => list.map(svg => {
        const texts = [...svg.querySelectorAll("text")].map(t => ({ t: t.textContent, b: t.getBoundingClientRect() })), hits = [];
        texts.forEach((a, i) => texts.slice(i + 1).forEach(c => {
          const w = Math.min(a.b.right, c.b.right) - Math.max(a.b.left, c.b.left), h = Math.min(a.b.bottom, c.b.bottom) - Math.max(a.b.top, c.b.top);
          // A line of text's box is taller than its letters.
          if (w > 0.5 && h > 0.35 * Math.min(a.b.height, c.b.height)) hits.push(a.t + " | " + c.t);
        }));
        const front = texts.find(t => t.t === "front").b, rear = texts.find(t => t.t === "rear").b;
        return { hits, order: front.top > rear.bottom, lines: svg.querySelectorAll(".contour").length, labels: svg.querySelectorAll(".level-text").length, heights: svg.querySelectorAll(".height-text").length };
      }));
      holds(says + " two plans, the front below", plans.length === 2 && plans.every(p => p.order), JSON.stringify(plans));
      holds(says + " lines with labels, a number at every point", plans[0].lines >= 8 && plans[0].labels >= 9 && plans.every(p => p.labels >= 1 && p.heights === level.map.length), JSON.stringify(plans));
      holds(says + " no text on another", plans.every(p => p.hits.length === 0), JSON.stringify(plans.map(p => p.hits)));
      holds(says + " what a wrong reading would do is told", (await page.innerText("#map-otherwise")).includes("read the wrong way"));
      quiet(page);
      await page.context().close();
    }
    const bare = await opened(browser, join(setOf("north-bench"), "report.html"));
    holds("no map where the kit names none", (await bare.locator("#level .maps").count()) === 0 && (await bare.locator("#map-otherwise").count()) === 0);
    await browser.close();
  },

  /// The watchers themselves: each must see what is done to a copy of the page.
  async objects() {
    const browser = await browserWith(), text = readFileSync(join(setOf("north-bench"), "report.html"), "utf8");
    const free = t => t.replace(/<meta http-equiv="Content-Security-Policy"[^>]*>/, "");
    await spoilt(browser, text, "a request", t => free(t).replace("</body>", "<img alt=\"\" src=\"http://127.0.0.1:9/x.png\"></body>"), async p => (await p.waitForTimeout(300), quiet(p)));
    await spoilt(browser, text, "what the page's policy stops", t => t.replace("</body>", "<img alt=\"\" src=\"http://127.0.0.1:9/x.png\"></body>"), async p => (await p.waitForTimeout(300), quiet(p)));
    await spoilt(browser, text, "an error", t => free(t).replace("</body>", "<script>null.x</script></body>"), async p => quiet(p));
    await spoilt(browser, text, "an added script that the policy does not know", t => t.replace("</body>", "<script>window.ran=1</script></body>"), async p => quiet(p));
    await spoilt(browser, text, "a picture without words", t => t.replace("<main", "<img src=\"data:,\"><main"), p => audit(p, "spoilt"));
    await spoilt(browser, text, "text too faint to read", t => t.replace("</style>", "p { color: #bbb; }</style>").replace(/style-src [^;]*;/, "style-src 'unsafe-inline';"), p => audit(p, "spoilt"));
    await spoilt(browser, text, "sideways scroll", t => t.replace("<main", "<div style=\"width:2000px\">x</div><main").replace(/style-src [^;]*;/, "style-src 'unsafe-inline';"), async p => holds("", (await p.evaluate(() => document.documentElement.scrollWidth - innerWidth)) <= 0));
    await browser.close();
  },
};

await runCase(cases, which);
