// Puts the page together and ties the view to the tables.
const featureIndex = (part, id) => part.told.features.findIndex(f => f.id === id) + 1;

/// Brings the view to a part; in the machine if it stands there and the machine is what is looked at.
function toSubject(view, part, alone) {
  const stays = !alone && view.subject === "" && part.kept.places.length > 0;
  if (!stays && view.subject !== part.id) {
    view.subject = part.id;
    $("subject").value = part.id;
    view.fit();
  }
}

function scrollToView(view) {
  $("s-view").scrollIntoView({block: "start"});
  view.canvas.focus({preventScroll: true});
}

function markRows(part, feature) {
  document.querySelectorAll("tr.here").forEach(r => r.classList.remove("here"));
  for (const r of rowOf.get(part.id + "/" + feature) || []) r.classList.add("here");
}

/// What is read off: the feature's sizes, beside the view.
function readOut(part, feature, where) {
  const told = part.told.features.find(f => f.id === feature), list = part.told.dimensions.filter(d => d.feature === feature);
  const go = H("button", {type: "button", class: "link", onclick: () => {
    $("sizes-" + part.n).open = true;
    const r = (rowOf.get(part.id + "/" + feature) || [])[0];
    if (r) r.scrollIntoView({block: "center"}), r.querySelector("button").focus({preventScroll: true});
  }}, "Go to its rows");
  fill("readout", H("p", {}, H("strong", {}, part.id), where ? " at " + where : "", ": ", feature, told ? " (" + told.kind.replace(/_/g, " ") + ")" : ""),
    list.length ? [table(part.id + ", " + feature + ", mm", ["Size", "Nominal", "Measured", "Deviation", "Allowed", "Good"], list.map(d => row([d.quantity, right(num(d.nominal_mm, 4)), right(num(d.measured_mm, 4)), right((d.deviation_mm > 0 ? "+" : "") + num(d.deviation_mm, 4)), right("±" + num(d.tolerance_mm, 3)), d.ok ? "yes" : "NO"]))), go]
      : H("p", {class: "small"}, "Nothing is measured of it by itself."));
}

function mark(view, part, feature, where) {
  const index = featureIndex(part, feature);
  view.marked = {part: part.id, key: feature || "all", lit: feature && index > 0 ? owner => owner === index : () => true, where: where || null};
  markRows(part, feature);
  view.draw();
}

/// Turns the view to where a feature opens.
function faceIt(view, part, feature) {
  const told = part.told.features.find(f => f.id === feature);
  if (told) view.turnTo(told.axis);
  view.fit();
}
function showFeature(view, part, feature) {
  toSubject(view, part, true);
  mark(view, part, feature);
  faceIt(view, part, feature);
  readOut(part, feature);
  scrollToView(view);
}
function showPart(view, part) {
  toSubject(view, part, true);
  view.marked = null;
  view.draw();
  scrollToView(view);
}
/// Whether a facet faces down, flatter than 45 degrees, above the print bed.
function hangs(part, facet) {
  const m = part.kept.print_to_part, n = part.shape.normals, f = part.facets;
  return m[2] * n[3 * facet] + m[6] * n[3 * facet + 1] + m[10] * n[3 * facet + 2] < -0.7071 && part.file[3 * f[3 * facet] + 2] > 0.01;
}
function showFinding(view, finding) {
  const part = partById(finding.part), known = featureIndex(part, finding.feature) > 0;
  toSubject(view, part, known || !part.kept.places.length);
  mark(view, part, known ? finding.feature : "");
  if (finding.code === "overhang") view.marked = {part: part.id, key: "overhang", lit: (owner, facet) => hangs(part, facet)};
  if (finding.code === "overhang") view.turnTo([0, 1, 2].map(k => -part.kept.print_to_part[4 * k + 2]));
  if (known) faceIt(view, part, finding.feature);
  view.fit();
  if (known) readOut(part, finding.feature);
  else fill("readout", H("p", {}, H("strong", {}, part.id), ": ", sentence(finding.message)));
  scrollToView(view);
}

/// What depends on which parts there are.
function listParts(view, subject) {
  fill("subject", H("option", {value: ""}, "the whole machine"), parts.map(p => H("option", {value: p.id}, `${p.id} (${p.told.quantity} x)`)));
  $("subject").value = view.subject;
  const kinds = {base: "base", rail: "rails, carriages", sheet: "frame", bed: "bed"}, there = new Set(bodyItems.map(i => i.kind));
  fill("hide", H("legend", {}, "Shown"), Object.entries(kinds).filter(([kind]) => there.has(kind)).map(([kind, words]) => H("label", {class: "tick"}, H("input", {type: "checkbox", checked: !view.hidden.has(kind), "data-kind": kind, onchange: e => {
    e.target.checked ? view.hidden.delete(kind) : view.hidden.add(kind);
    view.draw();
  }}), " " + words)));
  fill("legend", H("ul", {class: "legend"}, parts.map(p => {
    const swatch = H("span", {class: "swatch", "aria-hidden": "true"});
    swatch.style.background = p.tint;
    return H("li", {}, swatch, H("button", {type: "button", class: "link", onclick: () => subject(p.id)}, p.id), ` ${p.told.quantity} x`, p.told.placements.length ? ", " + p.told.placements.join(" and ") : p.kept.places.length ? ", " + p.kept.places[0].where.replace(/^bed mount .*/, "under the bed") : ", beside the machine");
  }), H("li", {}, H("button", {type: "button", class: "link", onclick: () => subject("")}, "the whole machine"))));
}

function controls(view) {
  const machineOnly = () => {
    const machine = view.subject === "";
    $("apart").disabled = !machine;
    $("hide").disabled = !machine;
  };
  const subject = id => {
    view.subject = id, view.marked = null;
    $("subject").value = id;
    fill("readout");
    machineOnly();
    view.fit();
  };
  listParts(view, subject);
  $("subject").addEventListener("change", e => subject(e.target.value));
  const lookWords = {corner: "Corner", above: "Above", below: "Below", front: "Front", rear: "Rear", left: "Left", right: "Right"};
  fill("looks", Object.entries(lookWords).map(([key, words]) => H("button", {type: "button", "data-look": key, onclick: () => view.look(key)}, words)));
  $("nearer").addEventListener("click", () => view.zoom(1.25));
  $("farther").addEventListener("click", () => view.zoom(0.8));
  $("fit").addEventListener("click", () => view.fit());
  $("apart").addEventListener("input", e => (view.apart = +e.target.value, view.fit()));
  $("cut-axis").addEventListener("change", e => (view.section.axis = +e.target.value, view.openTowards(), view.draw()));
  $("cut-share").addEventListener("input", e => (view.section.share = +e.target.value, view.draw()));
  $("cut-flip").addEventListener("change", e => (view.section.flip = e.target.checked, view.draw()));
  view.onPick = hit => {
    if (!hit) {
      view.marked = null, markRows({id: ""}, "");
      fill("readout", H("p", {}, "Nothing there."));
      return view.draw();
    }
    const item = hit.item;
    if (!item.part) {
      view.marked = null;
      fill("readout", H("p", {}, H("strong", {}, capital(item.name)), ", drawn as a plain body."));
      return view.draw();
    }
    const feature = hit.owner > 0 ? item.part.told.features[hit.owner - 1].id : "";
    mark(view, item.part, feature, item.where);
    readOut(item.part, feature, item.loose ? "" : item.where);
  };
  view.onDraw = machineOnly;
  return subject;
}

/// One picture at a time, so that the page stays quick to the touch meanwhile.
function drawNext() {
  const next = pictures.find(p => !p.done);
  if (!next) return;
  next.done = true;
  next.draw();
  setTimeout(drawNext, 5);
}
function drawAll() {
  for (const p of pictures) p.done = true, p.draw();
}

/// The sections in their order; each fills itself from the set that was taken last.
const sectionsOf = view => [head, first, () => findings(view), () => toPrint(view), toBuy, screws, steps, leveling, service, wrongWays, () => sizes(view), gaps, numbers, notes];
function forgetSections() {
  pictures.length = 0;
  rowOf.clear();
  screwFigureOf.clear();
}

const thePage = (() => {
  const view = new View();
  for (const section of sectionsOf(view)) section();
  const subject = controls(view);
  fill("contents", [...document.querySelectorAll("main > section")].map((s, i) => {
    const h = s.querySelector("h2");
    h.prepend(H("span", {class: "nr"}, i + 1 + " "));
    return H("li", {}, H("a", {href: "#" + s.id}, h.textContent.replace(/^\d+ /, "")));
  }));
  const theme = $("theme"), redraw = () => {
    pictures.forEach(p => (p.done = false));
    drawNext();
    view.draw();
  };
  theme.addEventListener("change", () => {
    if (theme.value) document.documentElement.dataset.theme = theme.value;
    else delete document.documentElement.dataset.theme;
    redraw();
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
  setTimeout(drawNext, 50);
  let shut = [];
  addEventListener("beforeprint", () => {
    shut = [...document.querySelectorAll("details:not([open])")];
    shut.forEach(d => (d.open = true));
    document.documentElement.dataset.printing = "yes";
    drawAll();
    view.drawNow();
  });
  addEventListener("afterprint", () => {
    shut.forEach(d => (d.open = false));
    delete document.documentElement.dataset.printing;
    redraw();
  });
  $("print").addEventListener("click", () => window.print());
  new ResizeObserver(() => view.draw()).observe(view.canvas);
  view.fit();
  view.drawNow();
  performance.mark("ready");
  document.documentElement.dataset.ready = "yes";
  return {view, subject};
})();
