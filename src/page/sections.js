// The sections of text and tables. Every word of the kit's goes in as text.
const $ = id => document.getElementById(id);
const fill = (id, ...children) => ($(id).replaceChildren(), put($(id), {}, children));

/// A table that may scroll sideways by itself on a narrow screen, and can be reached by keyboard then.
function table(caption, heads, rows, kind) {
  return H("div", {class: "table" + (kind ? " " + kind : ""), tabindex: "0", role: "region", "aria-label": caption},
    H("table", {}, H("caption", {}, caption), H("thead", {}, H("tr", {}, heads.map(h => H("th", {scope: "col"}, h)))), H("tbody", {}, rows)));
}
const row = (cells, attributes) => H("tr", attributes || {}, cells.map(c => H("td", typeof c === "number" ? {class: "n"} : {}, c instanceof Node ? c : String(c ?? "-"))));
const right = text => H("span", {class: "n"}, String(text));
const sentence = text => (text && !/[.!?]$/.test(text) ? text + "." : text);
/// A sentence begins with a capital, but an id stays as it is.
const capital = text => (parts.some(p => text.startsWith(p.id)) ? text : text.charAt(0).toUpperCase() + text.slice(1));
const severityWords = {error: "Error", warning: "Warning", note: "Note"};
const showButton = (act, words) => H("button", {type: "button", class: "show", onclick: act}, words || "Show", H("span", {class: "hidden"}, " in the view"));
const ways = {as_installed: "as installed", upside_down: "upside down", on_front: "on its front edge", on_rear: "on its rear edge", on_left: "on its left edge", on_right: "on its right edge"};

function head() {
  const count = kind => report.findings.filter(f => f.severity === kind).length, errors = count("error"), warnings = count("warning");
  $("title").textContent = report.title || report.kit;
  $("state").textContent = errors ? `${some(errors, "error")}: do not print or build from this page before each is put right.`
    : `Every file was read back and measured. ${warnings ? capital(some(warnings, "warning")) + " to read below." : "No errors, no warnings."}`;
  $("state").className = errors ? "bad" : "good";
  const cells = [["Kit", report.kit], ["Revision", report.revision], ["Parts", parts.reduce((s, p) => s + p.told.quantity, 0) + " of " + some(parts.length, "kind")],
    ["Material", [...new Set(parts.map(p => p.told.material))].join(", ")], ["Units", "mm, µm where it says so"], ["Made from", report.input_sha256.slice(0, 12)]];
  fill("title-block", cells.map(([what, value]) => H("div", {}, H("dt", {}, what), H("dd", {}, value))));
  $("last-word").textContent = data.last_word;
  $("origin").textContent = "Made by bedwright from " + report.kit + " revision " + report.revision + "; inputs " + report.input_sha256 + ". This file needs no network and asks for none.";
}

function first() {
  const untold = report.cautions.filter(c => c.text !== data.last_word);
  fill("first",
    H("p", {}, "This work can hurt: mains, a hot bed, a bed that moves, fine particles. Read these first. ", H("strong", {}, data.last_word)),
    H("ul", {class: "cautions"}, untold.map(c => H("li", {}, H("strong", {}, capital(c.at)), ": ", sentence(c.text)))),
    H("p", {}, "+X is right, +Y is to the rear, +Z is up, for someone who stands in front of the machine. Z = 0 is where the plates meet the carriages."));
}

function findings(view) {
  if (!report.findings.length) return fill("findings", H("p", {}, "None."));
  fill("findings", H("ol", {class: "findings"}, report.findings.map((f, i) => H("li", {class: f.severity},
    H("p", {}, H("span", {class: "tag " + f.severity}, severityWords[f.severity]), " ", H("code", {}, f.code), " ", capital(sentence(f.message))),
    f.remedy ? H("p", {class: "remedy"}, "What to do: " + sentence(f.remedy)) : null,
    placesOf(view, f)))));
}

function toPrint(view) {
  const p = data.printing, says = [
    `First layer ${num(p.first_layer_mm)} mm, layers ${num(p.layer_mm)} mm, lines ${num(p.line_mm)} mm${p.nozzle_mm ? `, nozzle ${num(p.nozzle_mm)} mm` : ""}; ${some(p.walls, "wall")}, ${num(p.infill_percent)} % infill, ${p.material} unless the table says otherwise.`,
    `Made for one printer: holes ${num(p.hole_mm, 3)}, outlines ${num(p.outline_mm, 3)}, heights ${num(p.height_mm, 3)} mm are added in the files${p.calibrated ? ` (coupon of ${p.calibrated})` : " (no coupon was measured)"}. On another printer make a coupon first. Turn the slicing program's own corrections of holes and outlines off: both together correct twice.`,
    "Every file lies as it is to be printed. Do not turn it over."];
  const files = table("Parts to print", ["Nr", "Part", "Pieces", "Material", "Lies", "Support", "Brim", "Size mm", "Mass g", "Marked", "File"], parts.map((q, i) => {
    const t = q.told, k = q.kept, brim = k.foot_mm > 0 && t.pose.height_mm / k.foot_mm > 6;
    return row([i + 1, H("button", {type: "button", class: "link", onclick: () => showPart(view, q)}, q.id), t.quantity, t.material, ways[t.pose.way] || t.pose.way,
      k.support_mm3 > 20 ? num(k.support_mm3 / 1000, 1) + " cm³" : "none", brim ? "5 mm" : "none", t.bbox_mm.map(v => num(v, 1)).join(" x "), num(t.mass_g, t.mass_g < 1 ? 2 : 1), t.mark ? t.mark.text : "no mark",
      H("span", {}, H("span", {class: "small"}, t.file + " "), H("button", {type: "button", class: "save", onclick: () => save(q)}, "Save ", H("span", {class: "hidden"}, q.id), " .stl"))]);
  }));
  const reasons = H("details", {}, H("summary", {}, "Why they lie so"), H("ul", {}, parts.filter(q => q.told.pose.why).map(q => H("li", {}, H("strong", {}, q.id), " ", sentence(q.told.pose.why)))));
  const order = report.print_first && (report.print_first.parts.length || report.print_first.keep.length) ? [H("h3", {}, "Before the machine is taken apart"),
    H("ul", {}, report.print_first.parts.map(f => H("li", {}, `Print ${f.quantity}${f.spares ? " and " + some(f.spares, "spare") : ""} of ${f.part}: ${sentence(f.why)}`)), report.print_first.keep.map(f => H("li", {}, `Keep ${f.what}: ${sentence(f.why)}`)))] : null;
  fill("print-parts", H("ul", {}, says.map(s => H("li", {}, s))), order, files,
    H("p", {class: "small"}, "The files come out of this page itself, byte for byte those of the set; nothing is fetched."), reasons,
    H("h3", {}, "Print beds from above"), H("div", {class: "figures wide"}, report.beds.map(bedPicture)));
}

function save(part) {
  const address = URL.createObjectURL(new Blob([stlOf(part)], {type: "model/stl"})), a = H("a", {href: address, download: part.id + ".stl"});
  a.click();
  setTimeout(() => URL.revokeObjectURL(address), 10000);
}

function toBuy() {
  const lines = report.hardware;
  fill("hardware", table("Hardware, spares to buy besides", ["Got", "Pieces", "Spare", "What", "For", "Ask the seller"], lines.map(l =>
    row([H("span", {class: "box", "aria-hidden": "true"}), l.quantity, l.spares || "", l.item, l.for, l.ask]))));
}

const screwFigureOf = new Map();  // a joint's id to that of its figure
/// Joints that are alike in all that a drawing shows come once.
function screws() {
  const groups = new Map();
  report.joints.forEach((j, i) => {
    const key = JSON.stringify([j.screw, j.pick_mm, j.head, j.washer_mm, j.layers.map(l => [l.name.replace(/-[a-z]$/, ""), l.mm]), j.anchor, j.behind, j.ok, data.joints[i].hole_mm]);
    if (!groups.has(key)) groups.set(key, []);
    groups.get(key).push(i);
  });
  if (!report.joints.length) return fill("screws", H("p", {}, "This set has no screws that the kit knows of."));
  const figures = [...groups.values()].map((list, n) => {
    const j = report.joints[list[0]], more = data.joints[list[0]], count = list.reduce((s, i) => s + report.joints[i].quantity, 0);
    const takes = j.pick_mm ? `${j.screw}x${num(j.pick_mm)}` : `${j.screw}: no length fits`;
    for (const i of list) screwFigureOf.set(report.joints[i].id, "screw-" + n);
    return H("figure", {class: "screw-figure", id: "screw-" + n, tabindex: "-1"}, screwPicture(j, more), H("figcaption", {},
      H("strong", {}, `${count} x ${takes}`), j.head === "button" ? ", button head" : "", more.purpose ? ", " + more.purpose : "", ". ",
      sentence(capital(j.why)), " ", j.torque_nm ? `Tighten to ${num(j.torque_nm[0])} to ${num(j.torque_nm[1])} N·m. ` : "",
      `Lengths that suit: ${num(j.window_mm[0])} to ${j.window_mm[1] === null ? "any" : num(j.window_mm[1])} mm. `,
      j.remedy ? H("strong", {}, sentence(capital(j.remedy))) : "", H("span", {class: "small"}, "At: " + list.map(i => report.joints[i].id).join(", "))));
  });
  fill("screws", H("p", {}, "Each drawn to scale, the head on top. Slanted lines: cut material. Broken red line: what the tip must not reach. A longer screw than drawn is not a harmless choice."), H("div", {class: "figures"}, figures));
}

const pictures = [];  // what is drawn when it comes into sight, or before printing
function steps() {
  const caution = at => (report.cautions.find(c => c.at === at) || {}).text || "";
  fill("steps", H("ol", {class: "steps"}, report.steps.map(s => {
    const shows = s.parts.some(id => partById(id)) || s.joints.some(j => (report.joints.find(q => q.id === j) || {}).part);
    const canvas = shows ? H("canvas", {width: 520, height: 340, role: "img", "aria-label": `Step ${s.n}: ` + (s.parts.join(", ") || "screws at " + s.joints.join(", ")) + " in colour"}) : null;
    if (canvas) pictures.push({canvas, done: false, draw: () => stepPicture(canvas, s)});
    const line = (what, said) => (said ? H("p", {class: "small"}, H("strong", {}, what + ": "), sentence(said)) : null);
    const sizes = new Map();
    for (const j of s.joints.map(id => report.joints.find(q => q.id === id)).filter(Boolean)) {
      const size = j.screw + (j.pick_mm ? "x" + num(j.pick_mm) : ", length see above"), had = sizes.get(size) || {count: 0, at: []};
      sizes.set(size, {count: had.count + j.quantity, at: [...had.at, j.id]});
    }
    const screwText = [...sizes].map(([size, {count, at}]) => `${count} x ${size} at ${at.join(", ")}`).join("; ");
    return H("li", {class: canvas ? "with-picture" : ""}, H("div", {},
      H("p", {}, H("label", {class: "tick"}, H("input", {type: "checkbox"}), H("strong", {}, ` Step ${s.n}. `), sentence(s.do))),
      line("Machine", s.machine), line("Parts", s.parts.join(", ")), line("Screws", screwText), line("Tight", s.tightness), line("Feel", s.feel),
      s.cautions.map(at => H("p", {class: "caution"}, H("strong", {}, capital(at)), caution(at) ? ": " + sentence(caution(at)) : ""))), canvas);
  })));
}

function leveling() {
  const frame = data.frame, children = [];
  if (frame && !frame.replaced) {
    const drawn = framePicture(frame), all = frame.z_mm.flat().filter(v => v !== null), range = Math.max(...all) - Math.min(...all);
    children.push(H("h3", {}, "The frame under the bed, before any shim"),
      H("p", {}, range < 1e-4 ? "The kit says that the frame is flat: all mounts stand at one height." :
        `Lines join places of one height, every ${num(drawn.step)} mm, with their height above the carriages' tops. Under each mount stands how far it lies below the highest one. This is the frame as the kit has it, not a map of the bed.`),
      H("figure", {class: "plan"}, drawn.svg));
  }
  const mounts = frame ? frame.mounts : [], layers = [data.printing.first_layer_mm, data.printing.layer_mm];
  const map = data.bed_map;
  if (map && !data.bed_level) children.push(H("p", {}, `This machine's maps: a positive number means that the bed is ${map.positive_is} there; turned by ${num(map.turned_deg || 0)} degrees${map.mirrored ? ", mirrored" : ", not mirrored"}.`,
    (map.shims || []).length ? " Shims in place when the set was made: " + map.shims.map(s => `${s.mount} ${num(s.shim_mm)} mm`).join(", ") + "." : ""));
  children.push(bedMapSection());
  children.push(H("h3", {}, data.bed_level ? "The next map of the bed, warm" : "A map of the bed, warm"), H("ol", {},
    H("li", {}, "Heat the bed to the temperature you print at and wait until it no longer changes. Keep hands off it."),
    H("li", {}, "Measure over each mount how much higher or lower the bed is than in the middle, with the machine's probe or a feeler gauge under the nozzle. Higher counts plus."),
    H("li", {}, "Write the readings below. The page says what to put under each mount; a lift common to all mounts is no harm."),
    H("li", {}, "Cold and unplugged, put the shims in, one mount tight and the others free to slide. Map again.")));
  if (mounts.length) {
    const answers = mounts.map(() => H("output", {}, "-")), said = H("p", {id: "level-said", "aria-live": "polite"});
    const inputs = mounts.map(m => H("input", {type: "text", inputmode: "decimal", size: "7", "aria-label": "Height of the bed over mount " + m.id + ", mm", oninput: () => work()}));
    const thick = want => {
      if (want < layers[0] / 2) return [0, "no shim"];
      const n = Math.max(0, Math.round((want - layers[0]) / layers[1])), mm = layers[0] + n * layers[1];
      return [mm, `${num(mm)} mm, ${some(n + 1, "layer")}`];
    };
    const work = () => {
      const texts = inputs.map(i => i.value.trim().replace(",", ".").replace("−", "-"));
      const bad = texts.findIndex(t => t !== "" && !/^[-+]?\d*\.?\d+$/.test(t));
      answers.forEach(a => (a.textContent = "-"));
      inputs.forEach((i, n) => i.toggleAttribute("aria-invalid", n === bad));
      if (bad >= 0) return void (said.textContent = `${mounts[bad].id}: that is no number.`);
      if (texts.some(t => t === "")) return void (said.textContent = "Waiting for a reading at every mount.");
      const z = texts.map(Number), high = Math.max(...z);
      const shim = z.map(v => thick(high - v));
      shim.forEach((s, i) => (answers[i].textContent = s[1]));
      const left = z.map((v, i) => v + shim[i][0]), range = Math.max(...left) - Math.min(...left);
      let words = `Range now ${num(high - Math.min(...z))} mm; with whole layers about ${num(range)} mm over the mounts.`;
      if (mounts.length === 4) {
        const order = [...mounts.keys()].sort((a, b) => mounts[a].at_mm[1] - mounts[b].at_mm[1] || mounts[a].at_mm[0] - mounts[b].at_mm[0]);
        const twist = Math.abs(z[order[0]] + z[order[3]] - z[order[1]] - z[order[2]]) / 2;
        if (twist > 0.05) words += ` One diagonal is ${num(twist)} mm higher than the other: a stiff bed may then miss one mount. Feel for it, and tighten nothing down over a gap.`;
      }
      if (high - Math.min(...z) > 3) words += " That is more than shims are for: look for something under the bed first.";
      said.textContent = words;
    };
    children.push(table("Readings and shims", ["Mount", "Frame mm", "Reading mm", "Put under it"], mounts.map((m, i) => {
      const best = Math.max(...mounts.map(q => q.z_mm ?? -1e9));
      return row([m.id, m.z_mm === null ? "-" : right((m.z_mm - best).toFixed(2)), inputs[i], answers[i]]);
    })), said, H("p", {class: "small"}, "Readings stay in this page and are gone when it is closed. Three maps and the level command of bedwright do better: they weigh the noise, a bed that bends, and which shims are worth it."));
  }
  const shims = parts.filter(p => p.told.family === "shim" || p.told.family === "spacer");
  if (shims.length) children.push(H("h3", {}, "Spacers and shims of this set"), H("ul", {}, shims.map(p => H("li", {}, H("strong", {}, `${p.told.quantity} x ${p.id}`), `, ${num(Math.min(...p.told.bbox_mm))} mm: `,
    p.kept.places.length ? p.kept.places.map(q => q.where).join(", ") : "as the steps say"))));
  fill("level", children);
}

function wrongWays() {
  const list = report.wrong_ways;
  if (!list.length) return fill("ways", H("p", {}, "No part of this set can be put on in a wrong way that differs from the right one."));
  const reach = Math.max(30, ...parts.filter(p => list.some(w => w.part === p.id)).flatMap(p => p.kept.plan.filter(f => f.kind === "outline").flatMap(f => f.loops.flat().map(q => Math.hypot(q[0], q[1]))))) * 1.04;
  const open = list.filter(w => w.bolts_up), shut = list.filter(w => !w.bolts_up);
  const rows = some => some.map(w => row([wrongWayPicture(w, reach) || "", w.part, w.placement || "-", [w.as ? w.as + " in its place" : "", w.flipped ? "upside down" : "", w.turn_deg ? "turned by " + num(w.turn_deg, 1) + "°" : ""].filter(Boolean).join(", "),
    w.bolts_up ? H("strong", {}, "goes on") : "blocked by " + w.blocked_by.replace(/-/g, " "), w.bolts_up ? right(num(w.seat_gap_mm, 3)) : "-", w.consequence]));
  const heads = ["Picture", "Part", "At", "Offered", "Bolts up?", "Gap mm", "What follows"];
  const legend = H("p", {}, "From above, the front below. Grey: carriage; crosses in small rings: its threads; rings: the frame's holes. The part lies as someone might offer it up; its own mark shows which way.");
  fill("ways", legend, open.length ? table("Wrong ways that bolt up: beware", heads, rows(open), "ways") : H("p", {}, H("strong", {}, "No wrong way bolts up.")),
    shut.length ? H("details", {}, H("summary", {}, `Wrong ways that are blocked: ${shut.length}`), table("Wrong ways that are blocked", heads, rows(shut), "ways shut")) : null);
}

const rowOf = new Map();  // "part/feature" to its rows
function sizes(view) {
  fill("sizes", H("p", {}, "Measured means: in the written file, read back. Nominal is the drawing; as drawn for the printer adds its compensation. Choose a feature to see where it is; click a face in the view to find its row here."),
    parts.map((p, i) => {
      const good = p.told.dimensions.filter(d => d.ok).length, rows = p.told.dimensions.map(d => {
        const tr = row([H("button", {type: "button", class: "link", onclick: () => showFeature(view, p, d.feature)}, d.feature), d.quantity, right(num(d.nominal_mm, 4)), right(num(d.modelled_mm, 4)),
          right(num(d.measured_mm, 4)), right((d.deviation_mm > 0 ? "+" : "") + num(d.deviation_mm, 4)), right("±" + num(d.tolerance_mm, 3)), d.ok ? "yes" : H("strong", {class: "bad"}, "NO")]);
        const key = p.id + "/" + d.feature;
        rowOf.set(key, [...(rowOf.get(key) || []), tr]);
        return tr;
      });
      return H("details", {id: "sizes-" + i, open: i === 0}, H("summary", {}, H("strong", {}, p.id), ` ${good} of ${p.told.dimensions.length} within tolerance`),
        table("Dimensions of " + p.id + ", mm", ["Feature", "Size", "Nominal", "As drawn", "Measured", "Deviation", "Allowed", "Good"], rows));
    }));
}

function gaps() {
  const figures = parts.flatMap(p => p.kept.gaps.map(g => gapPicture(p, g)));
  if (!figures.length) return fill("gaps", H("p", {}, "No part of this set follows the frame."));
  const names = ["to 2", "to 5", "to 10", "to 20", "more"];
  const scale = picture(5 * 74 + 8, 48, "Scale of the gap in micrometres", ...gapBands.map((b, i) => [S("rect", {x: 4 + 74 * i, y: 4, width: 74, height: 22, class: "gap " + b[1]}), S("text", {x: 4 + 74 * i + 37, y: 20, class: "t mid gap-text " + b[1]}, names[i])]), S("text", {x: 4, y: 42, class: "t"}, "µm of air (minus: the file stands into the sheet)"));
  const told = table("Least and greatest, over every facet", ["Part", "At", "Least mm", "Greatest mm", "Bears mm²"], parts.flatMap(p => (p.told.seat_gap || []).map(g => row([p.id, g.placement, right(num(g.least_mm, 4)), right(num(g.greatest_mm, 4)), right(num(g.bears_mm2, 0))]))));
  fill("gaps", H("p", {}, "How far the written file's seat is from the frame's own surface, each number in its square. Up to 20 µm is what facets cost; a print adds far more of its own."), scale, H("div", {class: "figures"}, figures), told);
}

const stackId = what => "stack-" + what.toLowerCase().replace(/[^a-z]+/g, "-");
function numbers() {
  const m = report.machine, children = [];
  if (m.figures && m.figures.length) children.push(table("What the arithmetic says", ["What", "Value", "Unit", "How", "Holds for", "Source"], m.figures.map(f => row([f.what, right(+(+f.value).toPrecision(4)), f.unit, f.formula, f.range, f.source]))));
  const stack = (what, s) => (s ? H("details", {id: stackId(what)}, H("summary", {}, `${what}: ${num(s.sum_mm)} mm, ±${num(s.worst_mm)} at worst, ±${num(s.rss_mm)} RSS`), table(what, ["Term", "mm", "±", "Source"], s.terms.map(t => row([t.name, right(num(t.mm, 3)), right(num(t.plus_minus_mm, 3)), t.source])))) : null);
  const h = m.heights || {};
  children.push(stack("Top of the bed above the base", h.bed), stack("Top of the frame above the base", h.frame), stack("Bed, new less old", h.rise), stack("Belt's clamp, new less the belt's line", h.belt), stack("Flag, new less the switch", h.flag), stack("Gap between nozzle and bed, homed as before", h.nozzle_gap));
  fill("numbers", children);
}

function notes() {
  const text = list => H("ul", {}, list.map(n => H("li", {}, H("code", {}, n.pointer || "whole kit"), " ", n.text)));
  fill("notes", report.notes.length ? [H("h3", {}, "Notes in the kit"), text(report.notes)] : null,
    parts.some(p => p.told.statements.length) ? H("details", {}, H("summary", {}, "Stated of the parts"), H("ul", {}, parts.flatMap(p => p.told.statements.map(s => H("li", {}, H("strong", {}, p.id), " ", s))))) : null,
    report.assumed.length ? H("details", {}, H("summary", {}, `Assumed where the kit says nothing: ${report.assumed.length}`), text(report.assumed)) : null);
}

function service() {
  fill("service", table("To tick once it runs", ["Done", "When", "What", "Day, by"], report.service.map(s => row([H("span", {class: "box", "aria-hidden": "true"}), s.when, sentence(s.do), ""]))));
}
