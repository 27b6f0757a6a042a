// Where findings have their place: a part, bodies and spots of the machine, a screw in section, a sum of heights, a section.
const stackOfCode = {"belt-line": "Belt's clamp, new less the belt's line", "switch-missed": "Flag, new less the switch", "switch-beyond": "Flag, new less the switch",
  "first-homing": "Gap between nozzle and bed, homed as before", "bed-height": "Top of the bed above the base"};
const sectionOfCode = {"measured-left-out": "s-level", "measured-rough": "s-level", "measured-beyond": "s-level", "not-cured": "s-numbers", "print-first-coupon": "s-print", "print-first-shims": "s-print",
  "distinct-parts": "s-print", "calibrated-otherwise": "s-print"};

/// The bodies that a finding's place is on.
function bodiesOn(on) {
  const group = {rails: "rail", carriages: "carriage", stops: "stop", frame: "sheet", bed: "bed", base: "base"}[on];
  const those = bodyItems.filter(i => i.kind === group);
  // A printed plate may have taken the sheet's place.
  if (on === "frame" && !those.length) return placedItems.filter(i => i.where === "on the carriages");
  if (group) return those;
  return [...bodyItems, ...placedItems].filter(i => on && (i.name === on || (i.part && i.part.id + " at " + i.where === on)));
}
/// What a finding is about in the machine: the names of the bodies, the spots to ring and a word for it all; null where that is no place.
function machinePlace(f) {
  const lit = new Set(), spots = [];
  for (const p of f.places || []) {
    const bodies = bodiesOn(p.on);
    bodies.forEach(b => lit.add(b));
    if (p.at_mm) spots.push({on: bodies.length ? bodies[0].name : "", at: p.at_mm});
  }
  const bodies = [...lit];
  return bodies.length || spots.length ? {bodies: bodies.map(b => b.name), spots, words: wordsFor(bodies, spots)} : null;
}
function wordsFor(bodies, spots) {
  const kinds = [...new Set(bodies.map(b => b.kind))], one = kind => bodies.filter(b => b.kind === kind);
  if (spots.some(s => s.on === "")) return "where they meet";
  const said = {rail: one("rail").length === 1 ? "the " + one("rail")[0].name : "the rails", carriage: "the carriages", stop: "the stops",
    sheet: spots.length === 1 && bodies.length === 1 ? "the point on the frame" : "the frame", bed: "the bed", part: one("part").length === 1 ? one("part")[0].part.id + " at " + one("part")[0].where : "the plates", base: "the base"};
  return kinds.map(k => said[k]).join(" and ");
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
