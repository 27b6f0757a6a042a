// The visitor's part of a published page: fields, answers, files. The core does all that is computed.
const published = JSON.parse(document.getElementById("published").textContent);
const publishedReport = report, startValues = new Map(published.fields.map(f => [f.pointer, f.value]));
const visitor = {
  values: new Map(),    // pointer to text, only what differs from the published value
  taken: new Map(),     // pointer to words on how it was measured
  cause: new Map(),     // finding to the pointer of the field that brought it
  last: "", known: new Set(), verdict: null, core: null, first: null, running: null, run: 0};
const findingKey = f => [f.severity, f.code, f.part, f.feature].join("|");
const publishedFindings = new Set(report.findings.map(findingKey));

/// A worker, or this very page where it may not have one; both answer alike: {call(what, ...args), run(values, tell)}.
async function startCore() {
  if (typeof WebAssembly === "undefined") throw new Error("this browser has no WebAssembly, or it is switched off");
  const wasm = await unpacked("core-wasm");
  performance.mark("unpacked");
  const code = $("core-code").textContent;
  const inPage = async () => {
    const script = H("script", {}, code);
    document.head.append(script);
    const host = await window.bedwrightHost(wasm);
    return {call: async (what, ...args) => host[what](...args), run: (values, tell) => host.run(values, tell)};
  };
  if (typeof Worker === "undefined") return inPage();
  const address = URL.createObjectURL(new Blob([code], {type: "text/javascript"}));
  let worker;
  try {
    worker = new Worker(address);
  } catch (e) {
    return inPage();
  }
  const waiting = new Map();
  let count = 0, broken = null;
  worker.onmessage = ({data: m}) => {
    const w = waiting.get(m.id);
    if (!w) return;
    if (m.scene) return w.tell(m.scene);
    waiting.delete(m.id);
    m.error === undefined ? w.done(m.result) : w.fail(new Error(m.error));
  };
  const call = (what, args, tell) => new Promise((done, fail) => {
    if (broken) return fail(broken);
    waiting.set(++count, {done, fail, tell});
    worker.postMessage({id: count, what, args});
  });
  worker.onerror = e => {
    broken = new Error(e.message || "the worker stopped");
    for (const w of waiting.values()) w.fail(broken);
    waiting.clear();
  };
  try {
    await call("start", [wasm]);
  } catch (e) {
    worker.terminate();
    return inPage();
  }
  URL.revokeObjectURL(address);
  performance.mark("started");
  return {call: (what, ...args) => call(what, args), run: (values, tell) => call("run", [values], tell)};
}

const plainNumber = text => text.trim().replace(",", ".").replace("−", "-");
const isNumber = text => /^[-+]?(\d+\.?\d*|\.\d+)$/.test(text);
const withUnit = (text, unit) => text + (unit ? (unit === "°" ? "" : " ") + unit : "");

/// What stands in a field's inputs, as a setting; null with a sentence where it is none.
function readField(field) {
  const texts = field.inputs.map(i => i.value);
  if (field.kind === "number" || field.kind === "whole" || field.kind === "list") {
    const numbers = texts.map(plainNumber);
    const bad = numbers.findIndex(t => !isNumber(t));
    if (bad >= 0) return {problem: numbers[bad] === "" ? "is empty" : `“${texts[bad].slice(0, 40)}” is no number`, hint: "write it like 12.5", at: bad};
    const clean = numbers.map(t => String(+t));
    return {value: field.kind === "list" ? "[" + clean.join(",") + "]" : clean[0]};
  }
  return {value: texts[0]};
}

function writeField(field, value) {
  if (field.kind === "list") {
    const numbers = JSON.parse(value || "[]");
    field.inputs.forEach((input, i) => (input.value = numbers[i] === undefined ? "" : String(numbers[i])));
  } else field.inputs[0].value = value;
}

function envelopeRows(pointer) {
  const ids = /\/dome\/radius_mm$/.test(pointer) ? ["dome-radius"] : /^\/frame\/sheet_thickness_mm$/.test(pointer) ? ["sheet-thickness"]
    : /^\/frame\/hole_pattern\/pitch_mm$/.test(pointer) ? ["hole-pitch-x", "hole-pitch-y"] : [];
  return (publishedReport.fit_envelope || []).filter(r => ids.includes(r.id));
}
/// Towards the side that still fits, as the author's own table has it.
const inside = (v, up) => (v === null ? null : Math.abs(v) >= 1000 ? (up ? Math.ceil(v - 1e-4) : Math.floor(v + 1e-4)) : (up ? Math.ceil(v * 100 - 0.01) : Math.floor(v * 100 + 0.01)) / 100);
const fitRange = limits => rangeWords(inside(limits[0], true), inside(limits[1], false));
const fitMm = limits => (fitRange(limits) === "any" ? "of any size" : fitRange(limits) + " mm");
/// What the author marked as typed: between back quotes.
const marked = text => text.split("`").map((t, i) => (i % 2 ? H("code", {}, t) : t));
const rangeWords = (low, high) => (low === null && high === null ? "any" : low === null ? "up to " + num(high) : high === null ? num(low) + " and more" : num(low) + " to " + num(high));

/// The radius from a straightedge and feeler gauge, beside the field that takes it.
function edgeTool(field) {
  const length = H("input", {type: "text", inputmode: "decimal", "aria-label": "Length of the straightedge between its touching points, mm"});
  const gap = H("input", {type: "text", inputmode: "decimal", "aria-label": "Gap in its middle, mm"});
  const said = H("p", {class: "small", role: "status"});
  const take = H("button", {type: "button", disabled: true}, "Use this radius");
  let radius = null;
  const work = async () => {
    radius = null, take.disabled = true, said.textContent = "";
    const l = plainNumber(length.value), g = plainNumber(gap.value);
    if (l === "" || g === "") return;
    if (!isNumber(l) || !isNumber(g)) return void (said.textContent = "Two numbers, like 200 and 1.92.");
    if (!visitor.core) return void (said.textContent = "Not ready yet.");
    const answer = await visitor.core.call("ask", {do: "straightedge", length_mm: +l, gap_mm: +g});
    if (!answer.ok) return void (said.textContent = capital(sentence(answer.problems[0].message)));
    radius = Math.round(answer.radius_mm);
    said.textContent = `Radius ${radius} mm. A feeler gauge is good to about 0.03 mm: it may be ${answer.least_mm === null ? "very small" : num(answer.least_mm, 0)} to ${answer.greatest_mm === null ? "flat" : num(answer.greatest_mm, 0)} mm. A longer straightedge says it better.`;
    take.disabled = false;
  };
  length.addEventListener("input", work), gap.addEventListener("input", work);
  take.addEventListener("click", () => {
    if (radius === null) return;
    visitor.taken.set(field.pointer, `${field.pointer} straightedge ${plainNumber(length.value)} mm gap ${plainNumber(gap.value)} mm`);
    writeField(field, String(radius));
    fieldChanged(field);
    field.inputs[0].focus();
  });
  return H("fieldset", {}, H("legend", {}, "From a straightedge and a feeler gauge"),
    H("div", {class: "edge-tool"}, H("label", {}, "Straightedge, mm", length), H("label", {}, "Gap, mm", gap), take), said);
}

const fieldList = published.fields.map((f, n) => ({...f, n, id: "field-" + n, inputs: [], box: null, problem: null, told: null}));
const fieldOf = pointer => fieldList.find(f => f.pointer === pointer) || fieldList.find(f => pointer.startsWith(f.pointer + "/"));

function drawFields() {
  if (!fieldList.length) return fill("fields", H("p", {}, "The author opens no value of this kit: the set is as it is."));
  fill("fields", fieldList.map(field => {
    const id = field.id, about = id + "-about " + id + "-problem";
    const change = () => (visitor.taken.delete(field.pointer), fieldChanged(field));
    let entry;
    if (field.kind === "choice" || field.kind === "yes-no") {
      const choices = field.kind === "choice" ? field.choices : ["true", "false"], words = {true: "yes", false: "no"};
      const select = H("select", {id, "aria-describedby": about, onchange: change}, choices.map(c => H("option", {value: c}, words[c] || c)));
      field.inputs = [select], entry = select;
    } else if (field.kind === "other") {
      const area = H("textarea", {id, rows: 3, spellcheck: "false", "aria-describedby": about, oninput: change});
      field.inputs = [area], entry = area;
    } else if (field.kind === "list") {
      const count = JSON.parse(field.value || "[]").length, names = count === 2 ? ["left to right (x)", "front to rear (y)"] : count === 3 ? ["x", "y", "z"] : [];
      field.inputs = Array.from({length: count}, (_, i) => H("input", {id: id + (i ? "-" + i : ""), type: "text", inputmode: "decimal", "aria-label": field.label + ", " + (names[i] || "number " + (i + 1)), "aria-describedby": about, oninput: change}));
      entry = field.inputs.map((input, i) => H("span", {}, input, " ", names[i] || ""));
    } else {
      const number = field.kind !== "text";
      field.inputs = [H("input", {id, type: "text", inputmode: number ? "decimal" : "text", maxlength: 200, "aria-describedby": about, oninput: change})];
      entry = field.inputs[0];
    }
    writeField(field, field.value);
    const range = field.least === null && field.greatest === null ? "" : `The author opens ${withUnit(rangeWords(field.least, field.greatest), field.unit)}. `;
    const shown = field.kind === "list" ? JSON.parse(field.value || "[]").map(v => num(v, 4)).join(" and ") : field.value;
    field.problem = H("p", {id: id + "-problem", class: "bad", role: "alert"});
    field.told = H("ul", {class: "told", "aria-live": "polite"});
    const sketch = sketchOf(field.pointer), edge = /\/dome\/radius_mm$/.test(field.pointer) ? edgeTool(field) : null;
    const how = field.measure || sketch || edge ? H("details", {open: fieldList.length <= 2}, H("summary", {}, "How to measure it"), field.measure ? H("p", {}, marked(sentence(field.measure))) : null, sketch, edge) : null;
    const rows = envelopeRows(field.pointer).map(r => H("p", {class: "small"}, `The published plates fit (${r.what}) ${fitMm(r.yes_mm)} as they are` +
      (String(r.yes_mm) === String(r.with_mm) ? "." : `, ${fitMm(r.with_mm)} with ${[...new Set([r.below_with, r.above_with].filter(Boolean))].join(" or ") || "help"}.`)));
    field.box = H("div", {class: "field"}, field.kind === "list" ? H("span", {class: "label"}, field.label) : H("label", {for: id}, field.label),
      H("div", {class: "entry"}, entry, field.unit ? H("span", {}, field.unit) : null),
      H("div", {id: id + "-about"}, H("p", {class: "small"}, range, "Published: ", H("span", {class: "n"}, withUnit(shown || "none", field.unit)), "."), field.help ? H("p", {class: "small"}, marked(sentence(field.help))) : null, rows),
      field.problem, field.told, how);
    return field.box;
  }));
  for (const f of fieldList) for (const input of f.inputs) input.disabled = true;
}

function setProblem(field, words, only) {
  field.problem.textContent = words;
  field.box.classList.toggle("faulty", words !== "");
  for (const [i, input] of field.inputs.entries()) words && (only === undefined || only === i) ? input.setAttribute("aria-invalid", "true") : input.removeAttribute("aria-invalid");
}
const sameValue = (field, value) => value === field.value || (field.kind !== "text" && field.kind !== "choice" && (() => {
  try {
    return JSON.stringify(JSON.parse(value)) === JSON.stringify(JSON.parse(field.value));
  } catch (e) {
    return false;
  }
})());

let pause = 0;
function fieldChanged(field) {
  const read = readField(field);
  if (read.problem) {
    setProblem(field, capital(read.problem) + ": " + sentence(read.hint) + " The set is still the one before.", read.at);
    return;
  }
  visitor.last = field.pointer;
  if (sameValue(field, read.value)) visitor.values.delete(field.pointer), visitor.taken.delete(field.pointer);
  else visitor.values.set(field.pointer, read.value);
  field.box.classList.toggle("moved", visitor.values.has(field.pointer));
  clearTimeout(pause);
  pause = setTimeout(makeSet, 4);
}

const settingsNow = () => [...visitor.values];
const markNow = name => (performance.clearMarks(name), performance.mark(name));
async function makeSet() {
  if (!visitor.core) return;
  const mine = ++visitor.run;
  markNow("asked");
  document.documentElement.dataset.busy = "yes";
  let answer;
  try {
    await visitor.first;
    if (mine !== visitor.run) return;
    visitor.running = visitor.core.run(settingsNow(), scene => mine === visitor.run && scene.ok && showScene(scene.data));
    answer = await visitor.running;
  } catch (e) {
    answer = {ok: false, problems: [{pointer: "", message: e.message, hint: "load the page again; your values stay in the text below"}]};
  }
  if (mine !== visitor.run || answer.stale) return;
  delete document.documentElement.dataset.busy;
  for (const f of fieldList) if (!readField(f).problem) setProblem(f, "");
  fill("other-problems");
  if (!answer.ok) return showProblems(answer.problems);
  visitor.verdict = answer.verdict;
  showAll(answer.data);
}

function showProblems(problems) {
  const rest = [];
  for (const p of problems) {
    const field = fieldOf(p.pointer), words = (p.message.startsWith("is ") && p.value ? p.value + " " : "") + sentence(p.message) + (p.hint ? " " + capital(sentence(p.hint)) : "");
    if (field) setProblem(field, capital(words) + " The set is still the one before.");
    else rest.push(H("li", {}, H("code", {}, p.pointer), " ", words));
  }
  if (rest.length) fill("other-problems", H("p", {class: "bad"}, "These values do not go together with the rest of the kit; the set is still the one before:"), H("ul", {}, rest));
  if (rest.length && fieldOf(visitor.last) && !problems.some(p => fieldOf(p.pointer))) setProblem(fieldOf(visitor.last), "This value does not go together with the rest of the kit: see beside. The set is still the one before.");
  document.documentElement.dataset.shown = String(visitor.run);
}

let chain = 0;
/// Parts and machine at once; words follow when the checks are done. What was still being filled in waits for those.
function showScene(scene) {
  const before = data;
  ++chain;
  takeSet({...before, parts: scene.parts, bodies: scene.bodies, frame: scene.frame, placements: scene.placements, report: {...before.report, parts: scene.report.parts}});
  thePage.view.changed();
  thePage.view.drawNow();
  markNow("drawn");
}

function showAll(set) {
  const frame = JSON.stringify(data.frame && data.frame.z_mm);
  takeSet(set);
  thePage.view.changed();
  listParts(thePage.view, thePage.subject);
  causes();
  showVerdict(), showTold(), head(), findings(thePage.view), showFiles(), showChanges(), showCarry();
  forgetSections();
  const flat = fn => fn !== head && fn !== leveling;
  const rest = sectionsOf(thePage.view).filter(flat);
  if (JSON.stringify(data.frame && data.frame.z_mm) !== frame) rest.push(leveling);
  const mine = ++chain;
  markNow("told");
  document.documentElement.dataset.shown = String(visitor.run);
  const next = () => {
    if (mine !== chain) return;
    const section = rest.shift();
    if (!section) return drawNext(), void (document.documentElement.dataset.filled = String(visitor.run));
    section();
    setTimeout(next, 0);
  };
  setTimeout(next, 60);
}

/// Which field brought a finding: the one that was changed when it came.
function causes() {
  const now = new Set(report.findings.map(findingKey)), only = visitor.values.size === 1 ? [...visitor.values.keys()][0] : "";
  for (const key of [...visitor.cause.keys()]) if (!now.has(key)) visitor.cause.delete(key);
  for (const key of now) {
    if (publishedFindings.has(key)) continue;
    if (only) visitor.cause.set(key, only);
    else if (!visitor.cause.has(key) && !visitor.known.has(key) && visitor.last) visitor.cause.set(key, visitor.last);
  }
  visitor.known = now;
}

function showTold() {
  for (const field of fieldList) {
    const list = report.findings.filter(f => visitor.cause.get(findingKey(f)) === field.pointer);
    field.told.replaceChildren(...list.map(f => H("li", {class: f.severity}, H("strong", {}, severityWords[f.severity]), ": ", capital(sentence(f.message)), f.remedy ? " What to do: " + sentence(f.remedy) : "")));
  }
}

const fitWords = {
  "as-published": ["Fits as published.", "fits-yes"], "with-help": ["Fits as published, with help.", "fits-help"], "needs-parts": ["Needs its own parts.", "fits-no"]};
function showVerdict() {
  const v = visitor.verdict;
  if (!v || !visitor.values.size) return fill("verdict", H("p", {class: "says"}, "The published set."), H("p", {}, fieldList.length ? "Change a value and read here whether these parts fit your machine, or what must be printed for it." : ""));
  const errors = report.findings.filter(f => f.severity === "error");
  const [words, kind] = fitWords[v.fits], old = v.fits === "needs-parts" && v.parts.length ? ` Print these from the files below: ${v.parts.join(", ")}.` : "";
  fill("verdict", H("p", {class: "says " + kind}, words),
    v.with ? H("p", {}, "Use " + sentence(v.with)) : null, v.why ? H("p", {}, "The published ones do not fit: " + sentence(v.why)) : null,
    v.fits === "as-published" && v.parts.length ? H("p", {}, "Parts made for your values come out a little different; the difference is small enough to leave alone. The files below are yours all the same.") : null,
    old ? H("p", {}, old.trim()) : null,
    errors.length ? H("p", {class: "bad"}, `With your values there ${errors.length === 1 ? "is an error" : "are " + errors.length + " errors"}: no files are given out. `, H("a", {href: "#s-findings"}, "Read what to do.")) : null,
    visitor.values.size > 1 ? H("p", {class: "small"}, "Judged with all your values together.") : null);
}

const niceSize = bytes => (bytes < 1e4 ? bytes + " bytes" : num(bytes / 1000, 0) + " kB");
async function keep(name, as, type) {
  await visitor.running;
  const bytes = await visitor.core.call("bytes", name);
  if (!bytes) return;
  const address = URL.createObjectURL(new Blob([bytes], {type})), a = H("a", {href: address, download: as});
  a.click();
  setTimeout(() => URL.revokeObjectURL(address), 10000);
}
const typeOf = name => ({stl: "model/stl", "3mf": "model/3mf", csv: "text/csv", html: "text/html", json: "application/json", svg: "image/svg+xml", pdf: "application/pdf", png: "image/png", zip: "application/zip"}[name.split(".").pop()] || "application/octet-stream");
const fileWords = name => (/^stl\//.test(name) ? "part, to print" : /\.3mf$/.test(name) ? "print bed, all parts in place" : name === "report.html" ? "this set as a page, to look at" : name === "hardware.csv" ? "what to buy" : name === "drawings.pdf" ? "workshop drawings" : /^drawings\//.test(name) ? "workshop drawing" : name === "report.json" ? "every number, for programs" : name === "preview.png" ? "picture" : name === "SHA256SUMS" ? "to see whether the files are whole" : "lets bedwright work faster next time");

function showCheckFirst() {
  const warnings = report.findings.filter(f => f.severity === "warning"), own = [...visitor.values.keys()].map(p => fieldOf(p)).filter(Boolean), untested = published.trials.filter(t => !t.result);
  const coupon = parts.find(p => p.told.family === "fit_coupon"), firstPlate = parts.find(p => p.told.family === "adapter_plate") || parts[0];
  fill("check-first", H("h3", {}, "Check first"), H("ol", {},
    own.length ? H("li", {}, "Measure again, with fresh eyes: " + own.map(f => f.label).join("; ") + ". A part is only as right as these.") : null,
    warnings.length ? H("li", {}, `Read the ${some(warnings.length, "warning")} under `, H("a", {href: "#s-findings"}, "Findings"), ".") : null,
    coupon ? H("li", {}, `Print ${coupon.id} and measure it: it says how your printer's holes come out.`) : H("li", {}, "Was your printer's compensation measured? The files are made for the printer described under ", H("a", {href: "#s-print"}, "To print"), "."),
    firstPlate ? H("li", {}, `Print one ${firstPlate.id}, lay it on its carriage and under the frame, and compare it with its `, H("a", {href: "#s-sizes"}, "measured dimensions"), " before you print the rest.") : null,
    untested.length ? H("li", {}, "Nobody has tried on a machine yet: " + untested.map(t => t.title.charAt(0).toLowerCase() + t.title.slice(1)).join("; ") + ".") : null,
    H("li", {}, "Off, unplugged and cold before a hand goes in. ", data.last_word)));
}

async function showFiles() {
  showCheckFirst();
  if (!visitor.core) return fill("files", H("p", {}, "The published parts can be saved under ", H("a", {href: "#s-print"}, "To print"), "."));
  const mine = visitor.run, answer = await visitor.core.call("ask", {do: "names"});
  if (mine !== visitor.run) return;
  if (!answer.ok || !answer.names.length) return fill("files", H("p", {class: "bad"}, "There are errors: no files are given out before they are put right. Your kit file can be saved all the same."), H("div", {class: "buttons"}, kitButtons()));
  const name = `${report.kit}-${report.revision}`;
  const rank = n => (/^stl\//.test(n) ? 0 : /\.3mf$/.test(n) ? 1 : n === "hardware.csv" ? 2 : n === "report.html" ? 3 : n === "drawings.pdf" ? 4 : 5);
  const rows = list => list.map(n => row([fileWords(n), n, H("button", {type: "button", class: "save", "data-file": n, onclick: () => keep("set/" + n, n.split("/").pop(), typeOf(n))}, "Save ", H("span", {class: "hidden"}, n))]));
  const names = [...answer.names].sort((a, b) => rank(a) - rank(b)), heads = ["What", "File", "Save"];
  fill("files", H("div", {class: "buttons"}, H("button", {type: "button", id: "save-all", onclick: () => keep("set.zip", name + (visitor.values.size ? "-mine" : "") + ".zip", "application/zip")}, "Save everything as one archive (.zip)"), kitButtons()),
    table("Files of your set", heads, rows(names.filter(n => rank(n) < 5))),
    H("details", {id: "more-files"}, H("summary", {}, "The rest of the set"), table("The rest of the set", heads, rows(names.filter(n => rank(n) === 5)))),
    H("p", {class: "small"}, "They are made in this page, byte for byte as the program bedwright makes them from your kit file. Nothing is fetched or sent."));
}
const kitButtons = () => [H("button", {type: "button", id: "save-kit", onclick: () => keep("kit/kit.json", "kit.json", "application/json")}, "Save your kit file (.json)"),
  Object.keys(published.beside).length ? H("button", {type: "button", id: "save-kit-zip", onclick: () => keep("kit.zip", `${report.kit}-${report.revision}-kit.zip`, "application/zip")}, "Kit file with what it names (.zip)") : null];

function showChanges() {
  const v = visitor.verdict;
  if (!v || !visitor.values.size) return fill("changes", H("p", {}, "Nothing: these are the published values."));
  const c = v.changes, moved = c.parts.filter(p => p.change !== "same" || p.reprint), words = {changed: "changed", added: "new", removed: "not needed", same: "same"};
  const lines = p => p.dimensions.slice(0, 4).map(d => d.old_mm === null ? `${d.feature} ${d.quantity}: new, ${num(d.new_mm, 3)} mm` : d.new_mm === null ? `${d.feature} ${d.quantity}: gone` : `${d.feature} ${d.quantity}: ${num(d.old_mm, 3)} becomes ${num(d.new_mm, 3)} mm`);
  fill("changes",
    moved.length ? table("Parts that differ", ["Part", "Now", "Why", "Sizes", "A published one goes with your others"], moved.map(p => row([p.id, words[p.change], sentence(p.why), H("div", {}, lines(p).map(l => H("div", {}, l)), p.dimensions.length > 4 ? H("div", {class: "small"}, `and ${p.dimensions.length - 4} more`) : null), p.change === "changed" ? (p.old_still_fits ? "yes" : "no") : "-"]))) : H("p", {}, "No part differs."),
    c.screws.length ? table("Screws that differ", ["Joint", "Published", "Yours"], c.screws.map(s => row([s.joint, s.old || "none", s.new || "no length fits"]))) : H("p", {}, "No screw differs."),
    c.hardware.length ? table("Other numbers to buy", ["Item", "Published", "Yours"], c.hardware.map(h => row([h.item, h.old, h.new]))) : null);
}

async function showCarry() {
  if (!visitor.core) return;
  const mine = visitor.run, answer = await visitor.core.call("ask", {do: "write-text", values: settingsNow(), taken: [...visitor.taken].filter(([p]) => visitor.values.has(p)).map(([, words]) => words)});
  if (mine !== visitor.run || !answer.ok) return;
  $("own-text").value = answer.text;
  const bytes = new TextEncoder().encode(answer.text);
  $("own-link").value = location.href.replace(/#.*$/, "") + "#visit=" + btoa(String.fromCharCode(...bytes)).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
}

async function takeText(text) {
  const said = $("carry-said"), answer = await visitor.core.call("ask", {do: "read-text", text});
  if (!answer.ok) return void (said.textContent = "Not taken: " + answer.problems.map(p => (p.pointer ? p.pointer + ": " : "") + sentence(p.message) + (p.hint ? " " + capital(sentence(p.hint)) : "")).join(" "));
  if (answer.kit !== publishedReport.kit) return void (said.textContent = `Not taken: that text is of the kit ${answer.kit}, this page is of ${publishedReport.kit}.`);
  const unknown = answer.values.filter(([pointer]) => !fieldList.some(f => f.pointer === pointer));
  visitor.values.clear(), visitor.taken.clear(), visitor.cause.clear();
  for (const f of fieldList) writeField(f, f.value), f.box.classList.remove("moved");
  for (const [pointer, value] of answer.values) {
    const field = fieldList.find(f => f.pointer === pointer);
    if (!field) continue;
    try {
      writeField(field, value);
    } catch (e) {
      continue;
    }
    const taken = answer.taken.find(t => t.startsWith(pointer + " "));
    if (taken) visitor.taken.set(pointer, taken);
    fieldChanged(field);
  }
  makeSet();
  said.textContent = `${some(answer.values.length - unknown.length, "value")} taken.` + (answer.inputs === published.inputs ? "" : ` It was written for another state of this kit (revision ${answer.revision}): look at each value again.`) + (unknown.length ? ` Not open in this kit any more: ${unknown.map(u => u[0]).join(", ")}.` : "");
}

/// The visitor's own bed map; what the map means is asked, never guessed.
async function levelMap() {
  const told = words => fill("map-said", H("p", {class: "bad"}, words));
  if (!visitor.core) return told("Not ready to compute.");
  const extent = $("map-extent").value.trim(), numbers = extent === "" ? [] : extent.split(/[\s;]+/).map(plainNumber);
  if (!$("map-text").value.trim()) return told("Paste a map first.");
  if (!$("map-sign").value || !$("map-turned").value) return told("Say first what a positive number means and how the map lies: a wrong guess would make the bed worse.");
  if (numbers.length && (numbers.length !== 4 || !numbers.every(isNumber))) return told("The places are four numbers: x and y of the first one, x and y of the last one.");
  await visitor.running;
  const answer = await visitor.core.call("ask", {do: "level", text: $("map-text").value, extent: numbers.length ? numbers.map(Number) : null, positive_high: $("map-sign").value === "high", quarter_turns: +$("map-turned").value, mirrored: $("map-mirrored").checked});
  if (!answer.ok) return fill("map-said", H("p", {class: "bad"}, "The map could not be read:"), H("ul", {}, answer.problems.map(p => H("li", {}, p.pointer ? p.pointer + ": " : "", sentence(p.message), p.hint ? " " + capital(sentence(p.hint)) : ""))));
  const l = answer.level;
  fill("map-said", table("Shims", ["Mount", "Put under it", "Layers"], l.mounts.map(m => row([m.id, m.shim_mm > 0 ? right(num(m.shim_mm) + " mm") : "nothing", m.shim_mm > 0 ? m.layers : "-"]))),
    H("p", {}, `The map's range is ${num(l.before.range_mm, 3)} mm; with these shims it should be about ${num(l.after.range_mm, 3)} mm, and no shims of any thickness would do better than ${num(l.best_possible.range_mm, 3)} mm. Cold and unplugged; then map again.`),
    H("details", {}, H("summary", {}, "All that the map says"), H("pre", {class: "terms", tabindex: "0"}, answer.words)));
}

function showAuthor() {
  const done = published.trials.filter(t => t.result), open = published.trials.filter(t => !t.result);
  fill("author",
    H("h3", {}, "Tried on a machine"), done.length ? table("Trials of revision " + publishedReport.revision, ["Trial", "Result", "On"], done.map(t => row([t.title, t.result, t.on]))) : H("p", {}, H("strong", {}, "UNTESTED. "), "The author names no trial of this revision."),
    open.length ? H("details", {}, H("summary", {}, `UNTESTED: ${some(open.length, "trial")}`), H("ul", {}, open.map(t => H("li", {}, H("strong", {}, t.title), ": ", sentence(t.take), " Good: " + sentence(t.good))))) : null,
    publishedReport.fit_envelope && publishedReport.fit_envelope.length ? [H("h3", {}, "Machines that the published parts fit"), H("p", {class: "small"}, "One measure changed at a time; keep your measuring error inside."),
      table("Fit of the published parts, mm", ["Measure", "Published", "Fits as it is", "Fits with help", "How to take it"], publishedReport.fit_envelope.map(r => row([r.what, right(num(r.value_mm)), fitRange(r.yes_mm), String(r.yes_mm) === String(r.with_mm) ? "-" : fitRange(r.with_mm), r.measure])))] : null,
    published.changes.length ? [H("h3", {}, "Revisions"), H("ul", {}, published.changes.map(c => H("li", {}, H("strong", {}, c.revision), ": ", sentence(c.what))))] : null,
    H("h3", {}, "Terms"), H("p", {}, published.licence ? `Licence of this kit: ${published.licence}.` : "The terms of this kit:"),
    H("details", {}, H("summary", {}, "Read the terms"), H("pre", {class: "terms", tabindex: "0"}, published.terms)));
}

(async () => {
  drawFields(), showAuthor(), showVerdict(), showChanges(), showFiles();
  const copy = (id, words) => async () => {
    const area = $(id);
    try {
      await navigator.clipboard.writeText(area.value);
      $("carry-said").textContent = words + " copied.";
    } catch (e) {
      area.focus(), area.select();
      $("carry-said").textContent = "Marked: press Ctrl and C to copy it.";
    }
  };
  $("map-work").addEventListener("click", levelMap);
  $("copy-text").addEventListener("click", copy("own-text", "Text"));
  $("copy-link").addEventListener("click", copy("own-link", "Link"));
  $("fields").addEventListener("submit", e => e.preventDefault());
  $("take-text").addEventListener("click", () => visitor.core && takeText($("other-text").value));
  $("back").addEventListener("click", () => {
    visitor.values.clear(), visitor.taken.clear(), visitor.cause.clear();
    for (const f of fieldList) writeField(f, f.value), setProblem(f, ""), f.box.classList.remove("moved");
    makeSet();
  });
  const state = $("core-state");
  try {
    const core = await startCore();
    await core.call("give", "three.min.js", await unpacked("three-packed"));
    for (const [name, bytes] of Object.entries(published.beside)) await core.call("give", name, bytesOf(bytes));
    await core.call("give", "kit.json", published.kit);
    const opened = await core.call("ask", {do: "open"});
    if (!opened.ok) throw new Error(opened.problems[0].message);
    performance.mark("open");
    // All visits are judged against the published set, so the core makes that one first; who types meanwhile waits for it.
    visitor.first = core.run([], () => {});
    visitor.core = core;
  } catch (e) {
    state.textContent = `Your own values cannot be worked out here: ${sentence(e.message)} The published set below can be looked at, printed and saved. Try another browser of the last two years, or the program: bedwright make.`;
    state.className = "caution";
    document.documentElement.dataset.live = "no";
    return;
  }
  visitor.first.then(first => {
    if (!first.ok && !first.stale) return;
    performance.mark("made");
    document.documentElement.dataset.made = "yes";
    if (!visitor.run) visitor.verdict = first.verdict, showFiles();
  });
  state.textContent = "Ready. What you change is worked out in this page, by the same program that made the set.";
  for (const f of fieldList) for (const input of f.inputs) input.disabled = false;
  showCarry();
  performance.mark("live");
  document.documentElement.dataset.live = "yes";
  const fromLink = () => {
    const found = /#visit=([A-Za-z0-9_-]+)/.exec(location.hash);
    if (!found) return;
    let text = "";
    try {
      text = new TextDecoder().decode(Uint8Array.from(atob(found[1].replace(/-/g, "+").replace(/_/g, "/")), c => c.charCodeAt(0)));
    } catch (e) {
      text = "?";
    }
    takeText(text);
  };
  fromLink();
  addEventListener("hashchange", fromLink);
})();
