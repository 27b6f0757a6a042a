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
  view.marked = {part: part.id, owners: feature && index > 0 ? new Set([index]) : null, where: where || null};
  markRows(part, feature);
  view.draw();
}

function showFeature(view, part, feature) {
  toSubject(view, part, true);
  mark(view, part, feature);
  readOut(part, feature);
  scrollToView(view);
}
function showPart(view, part) {
  toSubject(view, part, true);
  view.marked = null;
  view.draw();
  scrollToView(view);
}
function showFinding(view, finding) {
  const part = partById(finding.part), known = featureIndex(part, finding.feature) > 0;
  toSubject(view, part, known || !part.kept.places.length);
  mark(view, part, known ? finding.feature : "");
  if (known) readOut(part, finding.feature);
  else fill("readout", H("p", {}, H("strong", {}, part.id), ": ", sentence(finding.message)));
  scrollToView(view);
}

function controls(view) {
  fill("subject", H("option", {value: ""}, "the whole machine"), parts.map(p => H("option", {value: p.id}, `${p.id} (${p.told.quantity} x)`)));
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
  $("subject").addEventListener("change", e => subject(e.target.value));
  const lookWords = {corner: "Corner", above: "Above", below: "Below", front: "Front", rear: "Rear", left: "Left", right: "Right"};
  fill("looks", Object.entries(lookWords).map(([key, words]) => H("button", {type: "button", "data-look": key, onclick: () => view.look(key)}, words)));
  $("nearer").addEventListener("click", () => view.zoom(1.25));
  $("farther").addEventListener("click", () => view.zoom(0.8));
  $("fit").addEventListener("click", () => view.fit());
  $("apart").addEventListener("input", e => (view.apart = +e.target.value, view.fit()));
  const kinds = {base: "base", rail: "rails, carriages", sheet: "frame", bed: "bed"}, there = new Set(bodyItems.map(i => i.kind));
  put($("hide"), {}, Object.entries(kinds).filter(([kind]) => there.has(kind)).map(([kind, words]) => H("label", {class: "tick"}, H("input", {type: "checkbox", checked: true, "data-kind": kind, onchange: e => {
    e.target.checked ? view.hidden.delete(kind) : view.hidden.add(kind);
    view.draw();
  }}), " " + words)));
  $("cut-axis").addEventListener("change", e => (view.section.axis = +e.target.value, view.draw()));
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
  fill("legend", H("ul", {class: "legend"}, parts.map(p => {
    const swatch = H("span", {class: "swatch", "aria-hidden": "true"});
    swatch.style.background = p.tint;
    return H("li", {}, swatch, H("button", {type: "button", class: "link", onclick: () => subject(p.id)}, p.id), ` ${p.told.quantity} x`, p.told.placements.length ? ", " + p.told.placements.join(" and ") : p.kept.places.length ? "" : ", beside the machine");
  }), H("li", {}, H("button", {type: "button", class: "link", onclick: () => subject("")}, "the whole machine"))));
}

function drawPictures(all) {
  for (const p of pictures)
    if (!p.done && (all || p.near)) p.done = true, p.draw();
}

(() => {
  const view = new View();
  head(), first(), findings(view), toPrint(view), toBuy(), screws(), steps(), leveling(), service(), wrongWays(), sizes(view), gaps(), numbers(), notes();
  controls(view);
  fill("contents", [...document.querySelectorAll("main > section")].map((s, i) => {
    const h = s.querySelector("h2");
    h.prepend(H("span", {class: "nr"}, i + 1 + " "));
    return H("li", {}, H("a", {href: "#" + s.id}, h.textContent.replace(/^\d+ /, "")));
  }));
  const theme = $("theme"), redraw = () => {
    pictures.forEach(p => (p.done = false));
    drawPictures(false);
    view.draw();
  };
  theme.addEventListener("change", () => {
    if (theme.value) document.documentElement.dataset.theme = theme.value;
    else delete document.documentElement.dataset.theme;
    redraw();
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
  const sight = new IntersectionObserver(seen => {
    for (const s of seen) if (s.isIntersecting) pictures.find(p => p.canvas === s.target).near = true;
    drawPictures(false);
  }, {rootMargin: "400px"});
  pictures.forEach(p => sight.observe(p.canvas));
  let shut = [];
  addEventListener("beforeprint", () => {
    shut = [...document.querySelectorAll("details:not([open])")];
    shut.forEach(d => (d.open = true));
    document.documentElement.dataset.printing = "yes";
    pictures.forEach(p => (p.done = false));
    drawPictures(true);
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
  document.documentElement.dataset.ready = "yes";
})();
