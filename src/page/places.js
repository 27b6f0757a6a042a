// Where findings have their place: a part, bodies and spots of the machine, a screw in section, a sum of heights, a section.
const stackOfCode = {"belt-line": "Belt's clamp, new less the belt's line", "switch-missed": "Flag, new less the switch", "switch-beyond": "Flag, new less the switch",
  "first-homing": "Gap between nozzle and bed, homed as before", "bed-height": "Top of the bed above the base"};
const sectionOfCode = {"measured-left-out": "s-level", "measured-rough": "s-level", "measured-beyond": "s-level", "not-cured": "s-numbers", "print-first-coupon": "s-print", "print-first-shims": "s-print",
  "distinct-parts": "s-print", "calibrated-otherwise": "s-print"};

/// Bodies of some kinds; of those whose place the finding names, if it names any.
function bodiesSaid(f, kinds) {
  const all = bodyItems.filter(i => kinds.includes(i.kind));
  const said = all.filter(i => f.message.includes("the " + i.name) || data.placements.some(p => i.name.endsWith(" " + p.id) && new RegExp("\\bat " + p.id + "\\b").test(f.message)));
  return said.length ? said : all;
}
const topOf = item => boxOf([{shape: item.shape, matrix: identity}]).high[2];
const railOf = item => report.machine.rails.find(r => item.name === r.side + " rail");
const spotOn = (item, x, y) => ({on: item.name, at: [x, y, topOf(item)]});

/// Spots along rails: their screws that `which` holds of, or their ends.
const screwSpots = (rails, which) => rails.filter(railOf).flatMap(i => railOf(i).screws.filter(which).map(s => spotOn(i, railOf(i).x_mm, s.y_mm)));
const endSpots = rails => rails.flatMap(i => {
  const box = boxOf([{shape: i.shape, matrix: identity}]);
  return [box.low[1], box.high[1]].map(y => spotOn(i, (box.low[0] + box.high[0]) / 2, y));
});
/// Spots on the moving sheet, or on what takes its place.
function sheetSpots(places) {
  const sheet = bodyItems.find(i => i.kind === "sheet");
  return places.map(([x, y, z]) => ({on: sheet ? sheet.name : "", at: [x, y, z ?? 0]}));
}

/// What a finding of the machine is about, in its frame: the names of the bodies, the spots to ring and a word for it all; null where that is no place.
function machinePlace(f) {
  const list = names => names.map(i => i.name), listed = (bodies, words, spots) => (bodies.length || (spots || []).length ? {bodies: list(bodies), words, spots: spots || []} : null);
  const rails = (spots, more) => {
    const bodies = bodiesSaid(f, ["rail"]), one = bodies.length === 1 ? "the " + bodies[0].name : "the rails";
    return listed([...bodies, ...bodyItems.filter(i => (more || []).includes(i.kind))], one, spots ? spots(bodies) : []);
  };
  const carriages = () => listed(bodiesSaid(f, ["carriage"]), "the carriages");
  const sheet = (spots, words) => listed(bodyItems.filter(i => i.kind === "sheet"), words || "the frame", spots);
  const frameAndBed = () => listed(bodyItems.filter(i => i.kind === "sheet" || i.kind === "bed"), "frame and bed");
  const number = "(-?[\\d.]+)", found = pattern => (f.message.match(new RegExp(pattern)) || []).slice(1).map(Number);
  const plates = placedItems.filter(i => f.message.startsWith(i.part.id.replace(/-[a-z]$/, "") + " becomes"));
  switch (f.code) {
    case "rail-holes": case "rail-screws": return rails(r => screwSpots(r, () => true));
    case "rail-hole-lost": return rails(r => screwSpots(r, s => !s.usable));
    case "no-stop": return rails(endSpots, ["stop"]);
    case "stop-early": return rails(null, ["stop"]);
    case "travel-short": case "guideway-limits": return rails(null, ["carriage"]);
    case "rail-end-loose": return rails(r => (found("from y = " + number + " to " + number).length === 2 ? screwSpots(r, s => s.y_mm >= found("from y = " + number)[0] && s.y_mm <= found("to " + number)[0]) : []));
    case "rail-sag": case "no-reference": case "reference-rail": return rails();
    case "carriage-height": case "carriage-hole-pitch": case "pad-height": return carriages();
    case "measured-left-out": {
      const at = found("x " + number + ", y " + number);
      return sheet(at.length === 2 ? sheetSpots([[...at, heightOfSheet(...at)]]) : [], "the point on the frame");
    }
    case "measured-beyond": {
      const [, id, where] = f.message.match(/^(\S+) at (\S+) reaches/) || [], item = placedItems.find(i => i.part.id.replace(/-[a-z]$/, "") === (id || "").replace(/-[a-z]$/, "") && i.where === where);
      return item ? {bodies: [item.name], words: item.part.id + " at " + where, spots: []} : sheet();
    }
    case "measured-rough": return sheet();
    case "mount-slot": return listed(bodyItems.filter(i => i.kind === "bed"), "the bed's mounts", sheetSpots((report.machine.constraints.mounts || []).filter(m => m.slot_mm > 0).map(m => [...m.at_mm, heightOfSheet(...m.at_mm)])));
    case "distinct-parts": return listed(plates, "the plates");
    case "first-homing": case "bed-height": return listed(bodyItems.filter(i => i.kind === "bed"), "the bed");
    case "belt-line": case "switch-missed": case "switch-beyond": return sheet();
    case "earth-path": case "moving-mass": case "support-heavy": return frameAndBed();
    case "interference": {
      const at = found("at \\(" + number + ", " + number + ", " + number + "\\)"), bodies = bodyItems.filter(i => f.message.includes(i.name));
      return at.length === 3 ? {bodies: list(bodies), words: "where they meet", spots: [{on: "", at}]} : null;
    }
    default: return f.feature === "rails" ? rails(r => screwSpots(r, () => true)) : null;
  }
}
/// The upper face of the sheet at a place, by the nearest known square.
function heightOfSheet(x, y) {
  if (!data.frame) return 0;
  const {x_mm: xs, y_mm: ys, z_mm: z, thickness_mm: thick} = data.frame, nearest = (list, v) => list.reduce((best, w, i) => (Math.abs(w - v) < Math.abs(list[best] - v) ? i : best), 0);
  return (z[nearest(ys, y)][nearest(xs, x)] ?? 0) + thick;
}

function goTo(node) {
  for (let e = node; e; e = e.parentElement) if (e.tagName === "DETAILS") e.open = true;
  document.querySelectorAll(".goal").forEach(e => e.classList.remove("goal"));
  node.classList.add("goal");
  node.scrollIntoView({block: "start"});
  const taker = node.tagName === "DETAILS" ? node.querySelector("summary") : node;
  if (taker === node && !node.hasAttribute("tabindex")) node.setAttribute("tabindex", "-1");
  taker.focus({preventScroll: true});
}

/// The buttons that lead to a finding's places, or words where it has none.
function placesOf(view, f) {
  const joint = report.joints.find(j => j.id === f.feature), heights = report.machine.heights || {}, stack = stackOfCode[f.code], buttons = [];
  const link = (words, node) => H("button", {type: "button", class: "show", onclick: () => goTo(node())}, words);
  const part = f.part || (joint && joint.part), there = machinePlace(f);
  if (partById(part)) {
    const feature = featureOf(partById(part), f.feature);
    buttons.push(put(showButton(() => showFinding(view, {...f, part, feature}), "Show " + part + (feature ? ", " + feature : "")), {"data-to": "part"}, []));
  }
  if (there) buttons.push(put(showButton(() => showPlace(view, there, f), "Show " + there.words), {"data-to": "machine"}, []));
  if (joint) buttons.push(link("Show the section through " + joint.id, () => $(screwFigureOf.get(joint.id)) || $("s-screws")));
  if (stack && Object.keys(heights).length) buttons.push(link("Show the heights it follows from", () => $(stackId(stack)) || $("s-numbers")));
  if (!buttons.length && sectionOfCode[f.code]) buttons.push(link("Go to its section", () => $(sectionOfCode[f.code])));
  if (buttons.length) return H("p", {class: "to-places"}, buttons.flatMap(b => [b, " "]));
  return H("p", {class: "small"}, f.code === "before-missing" ? "It is about what the kit leaves unsaid: there is no place to show." : "It is about the set as a whole: there is no one place to show.");
}
/// A joint's id is that of its part and its hole.
const featureOf = (part, id) => (part.told.features.some(f => f.id === id) || !id.startsWith(part.id + "-") ? id : id.slice(part.id.length + 1));

function showPlace(view, there, f) {
  view.subject = "", $("subject").value = "";
  const lit = new Set(there.bodies), all = [...bodyItems, ...placedItems].filter(i => lit.has(i.name) || there.spots.some(s => s.on === i.name));
  const kinds = new Set(all.map(i => (i.kind === "stop" || i.kind === "carriage" ? "rail" : i.kind)));
  for (const box of document.querySelectorAll("#hide input")) if (kinds.has(box.dataset.kind) && !box.checked) box.click();
  // Spots in space belong to no body that moves away.
  if (there.spots.some(s => s.on === "")) view.apart = 0, $("apart").value = 0;
  view.marked = {part: "", of: i => lit.has(i.name), key: "all", lit: () => true, spots: there.spots};
  view.fit();
  view.draw();
  const ringed = there.spots.length ? ` ${capital(some(there.spots.length, "place"))} ringed.` : "";
  fill("readout", H("p", {}, H("strong", {}, capital(there.words)), ": ", sentence(f.message), ringed));
  scrollToView(view);
}
