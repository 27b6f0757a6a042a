// Drawings beside the text. Whatever is text goes in as a text node, never as markup.
function put(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name === "class") node.setAttribute("class", value);
    else if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else node.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children.flat(3)) if (child !== null && child !== undefined && child !== "") node.append(child);
  return node;
}
const H = (tag, attributes, ...children) => put(document.createElement(tag), attributes, children);
const S = (tag, attributes, ...children) => put(document.createElementNS("http://www.w3.org/2000/svg", tag), attributes, children);

/// A number as people read it: at most that many places, no trailing zeros.
const num = (v, places = 2) => (v === null || v === undefined ? "-" : String(+(+v).toFixed(places)));
const some = (n, one, many) => n + " " + (n === 1 ? one : many || one + "s");

let pictureCount = 0;
function picture(width, height, words, ...children) {
  const id = "p" + ++pictureCount;
  return S("svg", {viewBox: [0, 0, num(width), num(height)].join(" "), role: "img", "aria-labelledby": id, class: "drawing",
                   width: num(width), height: num(height)}, S("title", {id}, words), ...children);
}

const pathOf = (loops, to) => loops.map(loop => "M" + loop.map(p => to(p).map(v => v.toFixed(2)).join(" ")).join("L") + "Z").join("");

/// A part in plan, posed by `to` (part to picture).
function planOf(part, to) {
  const g = S("g", {});
  for (const f of part.kept.plan) {
    const kind = f.kind === "outline" ? "plan-body" : f.kind === "mark" ? "plan-mark" : f.kind === "boss" || f.kind === "key" ? "plan-add" : "plan-hole";
    g.append(S("path", {d: pathOf(f.loops, to), class: kind, "fill-rule": "evenodd"}));
  }
  return g;
}

/// A plate as someone offered it up in a wrong way, over its carriage and the frame's holes.
function wrongWayPicture(way, reach) {
  const offered = partById(way.as || way.part), own = !way.as, place = data.placements.find(p => p.id === way.placement);
  if (!offered || !place) return null;
  const at = offered.told.placements.indexOf(way.placement), quarter = own && at >= 0 ? offered.kept.quarter_turns[at] || 0 : 0;
  const turn = way.turn_deg / 180 * Math.PI + (own ? (way.flipped ? -1 : 1) * quarter * Math.PI / 2 : 0);
  const size = 128, s = size / 2 / reach, c = Math.cos(turn), n = Math.sin(turn);
  const posed = p => {
    const x = way.flipped ? -p[0] : p[0];
    return [c * x - n * p[1], n * x + c * p[1]];
  };
  const paper = p => [size / 2 + s * p[0], size / 2 - s * p[1]], to = p => paper(posed(p));
  const ring = (p, d, kind) => {
    const [x, y] = paper(p);
    return S("g", {class: kind}, S("circle", {cx: num(x), cy: num(y), r: num(Math.max(1.5, s * d / 2))}),
             S("path", {d: `M${num(x - 4)} ${num(y)}H${num(x + 4)}M${num(x)} ${num(y - 4)}V${num(y + 4)}`}));
  };
  const [w, l] = data.carriage.size_mm, [a, b] = data.carriage.holes_mm, [x0, y0] = paper([-w / 2, l / 2]);
  const threads = [[-a / 2, -b / 2], [a / 2, -b / 2], [-a / 2, b / 2], [a / 2, b / 2]];
  const words = (own ? way.part : way.as + " in the place of " + way.part) + " at " + way.placement + (way.flipped ? ", upside down" : "") +
    (way.turn_deg ? ", turned by " + num(way.turn_deg, 1) + " degrees" : "");
  return picture(size, size + 14, words,
    S("rect", {x: num(x0), y: num(y0), width: num(s * w), height: num(s * l), class: "carriage"}),
    planOf(offered, to), threads.map(p => ring(p, 3, "thread")), place.holes.map(h => ring(h.at_mm, h.diameter_mm, "frame-hole")),
    way.flipped ? S("text", {x: 4, y: 12, class: "t"}, "underside up") : null,
    S("text", {x: num(size / 2), y: size + 10, class: "t mid"}, "front"));
}

/// A print bed from above, with the parts' true outlines: every facet's shadow.
function shadowOf(part) {
  const f = part.facets, p = part.file, d = [];
  for (let i = 0; i < f.length; i += 3) {
    const a = 3 * f[i], b = 3 * f[i + 1], c = 3 * f[i + 2];
    if ((p[b] - p[a]) * (p[c + 1] - p[a + 1]) - (p[b + 1] - p[a + 1]) * (p[c] - p[a]) <= 0.001) continue;
    d.push(`M${p[a].toFixed(2)} ${p[a + 1].toFixed(2)}L${p[b].toFixed(2)} ${p[b + 1].toFixed(2)}L${p[c].toFixed(2)} ${p[c + 1].toFixed(2)}Z`);
  }
  return d.join("");
}

function bedPicture(bed, number) {
  const [w, h] = data.printing.bed_mm, margin = 12, ids = [...new Set(bed.items.map(i => i.part))];
  const svg = picture(w + 2 * margin, h + 2 * margin, "Print bed " + (number + 1) + " from above: " + ids.map(id => some(bed.items.filter(i => i.part === id).length, id, "x " + id)).join(", "),
    S("defs", {}, ids.map(id => S("path", {id: "shadow-" + number + "-" + parts.findIndex(p => p.id === id), d: shadowOf(partById(id))}))),
    S("rect", {x: margin, y: margin, width: w, height: h, class: "plate"}));
  for (let x = 10; x < w; x += 10) svg.append(S("path", {d: `M${margin + x} ${margin}v${h}`, class: x % 50 ? "fine" : "fine five"}));
  for (let y = 10; y < h; y += 10) svg.append(S("path", {d: `M${margin} ${margin + h - y}h${w}`, class: y % 50 ? "fine" : "fine five"}));
  for (const layer of ["rim", "body"])
    for (const item of bed.items)
      svg.append(S("use", {href: "#shadow-" + number + "-" + parts.findIndex(p => p.id === item.part), class: "shadow-" + layer,
        transform: `translate(${num(margin + item.at_mm[0])} ${num(margin + h - item.at_mm[1])}) scale(1 -1) rotate(${item.turn_deg})`}));
  for (const item of bed.items) {
    const n = parts.findIndex(p => p.id === item.part) + 1;
    svg.append(S("text", {x: num(margin + item.at_mm[0]), y: num(margin + h - item.at_mm[1] + 2.5), class: "t mid bed-text"}, String(n)));
  }
  svg.append(S("text", {x: num(margin + w / 2), y: num(h + 2 * margin - 4), class: "t mid bed-text"}, `front · ${num(w)} x ${num(h)} mm, lines every 10`));
  return H("figure", {}, svg, H("figcaption", {}, H("strong", {}, bed.file), ": ",
    ids.map(id => `${bed.items.filter(i => i.part === id).length} x ${id} (${parts.findIndex(p => p.id === id) + 1})`).join(", ")));
}

/// Slanted lines for cut material, drawn as such so that they print without colour.
function hatch(x, y, w, h, step, lean) {
  const d = [];
  for (let t = -h; t < w; t += step) {
    const a = Math.max(0, t), b = Math.min(w, t + h);
    if (b <= a) continue;
    const ya = lean > 0 ? y + h - (a - t) : y + (a - t), yb = lean > 0 ? y + h - (b - t) : y + (b - t);
    d.push(`M${num(x + a)} ${num(ya)}L${num(x + b)} ${num(yb)}`);
  }
  return S("path", {d: d.join(""), class: "hatch"});
}

/// A screw and all it goes through, cut along its axis, to scale.
function screwPicture(joint, more) {
  const d = more.thread_mm, layers = joint.layers, washer = joint.washer_mm || 0, stack = layers.reduce((s, l) => s + l.mm, 0);
  const grip = washer + stack, anchor = joint.anchor, pick = joint.pick_mm, tip = pick ?? joint.window_mm[0];
  const clear = joint.behind.clear_mm, nutWasher = anchor.kind === "nut" ? more.nut_washer_mm : 0;
  const anchorTop = grip + nutWasher, anchorEnd = anchorTop + anchor.depth_mm;
  const end = Math.max(tip, anchorEnd, clear !== null && !anchor.blind ? anchorEnd + clear : 0) + 2.5;
  const high = more.head_height_mm + end, s = Math.max(1.6, Math.min(9, 250 / high)), half = Math.max(more.head_mm, more.nut_mm, more.washer_outer_mm, 2.4 * d) / 2 + 2;
  const left = 62, mid = left + half * s, right = left + 2 * half * s, top = 14 + more.head_height_mm * s, width = right + 206;
  const y = z => top + z * s, body = [], notes = [];
  const block = (z0, z1, inner, lean, kind) => {
    const w = (half - inner / 2) * s;
    for (const x of [left, mid + inner / 2 * s])
      body.push(S("rect", {x: num(x), y: num(y(z0)), width: num(w), height: num((z1 - z0) * s), class: kind}), hatch(x, y(z0), w, (z1 - z0) * s, lean % 2 ? 5 : 7, lean % 2 ? 1 : -1));
  };
  const label = (z, words) => notes.push({want: y(z), words});
  if (washer) {
    for (const sign of [-1, 1])
      body.push(S("rect", {x: num(sign < 0 ? mid - more.washer_outer_mm / 2 * s : mid + d / 2 * s), y: num(y(0)), width: num((more.washer_outer_mm - d) / 2 * s), height: num(washer * s), class: "steel"}));
    label(washer / 2, `washer ${num(washer)}`);
  }
  let z = washer;
  layers.forEach((layer, i) => {
    block(z, z + layer.mm, Math.max(more.hole_mm, d), i, layer.printed ? "printed" : "metal");
    label(z + layer.mm / 2, `${layer.name} ${num(layer.mm)}${layer.plus_minus_mm ? " ±" + num(layer.plus_minus_mm) : ""}`);
    z += layer.mm;
  });
  const blockEnd = anchor.blind ? anchorEnd + 1.5 : anchorEnd;
  if (anchor.kind === "nut") {
    if (nutWasher) body.push(S("rect", {x: num(mid - more.washer_outer_mm / 2 * s), y: num(y(grip)), width: num(more.washer_outer_mm * s), height: num(nutWasher * s), class: "steel"}));
    body.push(S("rect", {x: num(mid - more.nut_mm / 2 * s), y: num(y(anchorTop)), width: num(more.nut_mm * s), height: num(anchor.depth_mm * s), class: "steel"}));
  } else {
    block(anchorTop, blockEnd, d, layers.length, anchor.kind === "insert" ? "printed" : "metal");
    if (anchor.blind) body.push(S("rect", {x: num(mid - d / 2 * s), y: num(y(anchorEnd)), width: num(d * s), height: num(1.5 * s), class: "metal"}));
    if (anchor.kind === "insert")
      for (const sign of [-1, 1])
        body.push(S("rect", {x: num(sign < 0 ? mid - 0.75 * d * s : mid + d / 2 * s), y: num(y(anchorTop)), width: num(0.25 * d * s), height: num(anchor.depth_mm * s), class: "steel"}));
  }
  label((anchorTop + Math.min(anchorEnd, Math.max(tip, anchorTop + 0.5))) / 2, `${{carriage: "thread of the carriage", insert: "insert", nut: "nut", tapped: "thread"}[anchor.kind] || anchor.kind} ${num(anchor.depth_mm)}`);
  const head = more.head_mm / 2 * s;
  body.push(S("rect", {x: num(mid - head), y: num(y(-more.head_height_mm)), width: num(2 * head), height: num(more.head_height_mm * s), rx: joint.head === "button" ? num(Math.min(head, more.head_height_mm * s * 0.8)) : 1, class: "screw"}),
            S("rect", {x: num(mid - more.key_mm / 2 * s), y: num(y(-more.head_height_mm)), width: num(more.key_mm * s), height: num(0.5 * more.head_height_mm * s), class: "socket"}),
            S("rect", {x: num(mid - d / 2 * s), y: num(y(0)), width: num(d * s), height: num(tip * s), class: pick ? "screw" : "screw wanted"}));
  for (const sign of [-0.38, 0.38]) body.push(S("path", {d: `M${num(mid + sign * d * s)} ${num(y(Math.min(grip, tip)))}V${num(y(tip))}`, class: "thin"}));
  body.push(S("path", {d: `M${num(mid)} ${num(y(-more.head_height_mm) - 6)}V${num(y(end) - 2)}`, class: "axis"}));
  const wall = anchor.blind ? anchorEnd : clear !== null ? anchorEnd + clear : null;
  if (wall !== null && !anchor.blind) body.push(S("path", {d: `M${num(left)} ${num(y(wall))}H${num(right)}`, class: "hazard"}));
  if (joint.behind.known || !anchor.blind) label(wall !== null ? Math.max(wall, tip) : end - 1, "behind: " + (joint.behind.known ? joint.behind.what : "NOT KNOWN, look first"));
  if (joint.tip_free_mm !== null && pick) label(tip + 0.2, `tip free at least ${num(joint.tip_free_mm)}`);
  const arrow = (x, z0, z1, words) => [S("path", {d: `M${num(x)} ${num(y(z0))}V${num(y(z1))}M${num(x - 3)} ${num(y(z0))}h6M${num(x - 3)} ${num(y(z1))}h6`, class: "thin"}),
    S("text", {x: num(x - 5), y: num((y(z0) + y(z1)) / 2 + 4), class: "t end"}, words)];
  body.push(arrow(left - 10, 0, tip, pick ? num(pick) : "no length"));
  notes.sort((a, b) => a.want - b.want);
  let last = 4;
  for (const n of notes) {
    n.y = Math.max(n.want, last + 14), last = n.y;
    const long = n.words.length > 27, cut = long ? n.words.lastIndexOf(" ", 27) : -1, lines = cut > 0 ? [n.words.slice(0, cut), n.words.slice(cut + 1)] : [n.words];
    body.push(S("path", {d: `M${num(right + 2)} ${num(n.want)}L${num(right + 12)} ${num(n.y)}`, class: "thin"}));
    lines.forEach((line, i) => body.push(S("text", {x: num(right + 15), y: num(n.y + 4 + 13 * i), class: "t"}, line.length > 30 ? line.slice(0, 29) + "…" : line)));
    if (lines.length > 1) last += 13;
  }
  return picture(width, Math.max(y(end) + 6, last + 10), `Section through ${joint.screw}${pick ? "x" + num(pick) : ""} at ${joint.id}, ${num(s, 1)} times its size on a screen of 96 dots an inch`, ...body);
}

/// Where lines of one height run through a grid: pieces [x0, y0, x1, y1] in the grid's own coordinates.
function contour(xs, ys, z, level) {
  const pieces = [];
  for (let k = 0; k + 1 < ys.length; ++k)
    for (let i = 0; i + 1 < xs.length; ++i) {
      const corner = [[i, k], [i + 1, k], [i + 1, k + 1], [i, k + 1]].map(([u, v]) => [xs[u], ys[v], z[v][u]]);
      if (corner.some(c => c[2] === null)) continue;
      const cuts = [];
      for (let e = 0; e < 4; ++e) {
        const a = corner[e], b = corner[(e + 1) % 4];
        if ((a[2] < level) === (b[2] < level)) continue;
        const t = (level - a[2]) / (b[2] - a[2]);
        cuts.push([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
      }
      for (let c = 0; c + 1 < cuts.length; c += 2) pieces.push([...cuts[c], ...cuts[c + 1]]);
    }
  return pieces;
}

/// The frame from above: lines of equal height, mounts and holes with their numbers.
function framePicture(frame) {
  const all = frame.z_mm.flat().filter(v => v !== null), low = Math.min(...all), high = Math.max(...all);
  const step = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5].find(v => (high - low) / v <= 9) || 10;
  const [bx, by] = data.bed_size_mm || [0, 0];
  const x0 = Math.min(frame.x_mm[0], -bx / 2), x1 = Math.max(frame.x_mm.at(-1), bx / 2), y0 = Math.min(frame.y_mm[0], -by / 2), y1 = Math.max(frame.y_mm.at(-1), by / 2);
  const s = 440 / (x1 - x0), margin = 22, px = x => margin + s * (x - x0), py = y => margin + s * (y1 - y), body = [];
  const best = Math.max(...(frame.mounts.length ? frame.mounts : frame.holes).map(m => m.z_mm ?? -1e9));
  body.push(S("rect", {x: num(px(frame.x_mm[0])), y: num(py(frame.y_mm.at(-1))), width: num(s * (frame.x_mm.at(-1) - frame.x_mm[0])), height: num(s * (frame.y_mm.at(-1) - frame.y_mm[0])), class: "plate"}));
  if (bx) body.push(S("rect", {x: num(px(-bx / 2)), y: num(py(by / 2)), width: num(s * bx), height: num(s * by), class: "bed-edge"}));
  const taken = [], spots = frame.mounts.map(m => [px(m.at_mm[0]), py(m.at_mm[1])]);
  for (let n = Math.ceil(low / step - 1e-9); high - low > 1e-4 && n * step <= high; ++n) {
    const pieces = contour(frame.x_mm, frame.y_mm, frame.z_mm, n * step);
    if (!pieces.length) continue;
    body.push(S("path", {d: pieces.map(p => `M${num(px(p[0]), 1)} ${num(py(p[1]), 1)}L${num(px(p[2]), 1)} ${num(py(p[3]), 1)}`).join(""), class: n % 5 ? "contour" : "contour five"}));
    const free = pieces.map(p => [px((p[0] + p[2]) / 2), py((p[1] + p[3]) / 2)]).filter(p => p[0] > margin + 24 && p[0] < px(x1) - 24);
    const room = p => Math.min(...[...taken, ...spots].map(q => Math.hypot(p[0] - q[0], p[1] - q[1])), 1e6);
    const spot = free.reduce((best, p) => (room(p) > (best ? room(best) : 26) ? p : best), null);
    if (spot) taken.push(spot), body.push(S("text", {x: num(spot[0]), y: num(spot[1] + 4), class: "t mid halo"}, num(n * step)));
  }
  for (const h of frame.holes) body.push(S("circle", {cx: num(px(h.at_mm[0])), cy: num(py(h.at_mm[1])), r: num(s * h.diameter_mm / 2), class: "hole"}));
  for (const m of frame.mounts) {
    const [x, y] = [px(m.at_mm[0]), py(m.at_mm[1])];
    body.push(S("circle", {cx: num(x), cy: num(y), r: 7, class: "mount"}), S("circle", {cx: num(x), cy: num(y), r: 2, class: "mount-dot"}),
      S("text", {x: num(x), y: num(y - 11), class: "t mid halo"}, m.id), S("text", {x: num(x), y: num(y + 22), class: "t mid halo strong"}, m.z_mm === null ? "not measured" : (m.z_mm - best).toFixed(2)));
  }
  body.push(S("text", {x: num(px((x0 + x1) / 2)), y: num(py(y0) + 16), class: "t mid"}, "front"));
  return {step, svg: picture(px(x1) + margin, py(y0) + margin, `The frame from above, lines of equal height every ${num(step)} mm, and how far each mount lies below the highest`, ...body)};
}

/// Bands of a gap, in micrometres: up to so much, and how it is drawn.
const gapBands = [[2, "g0"], [5, "g1"], [10, "g2"], [20, "g3"], [Infinity, "g4"]];
const gapBand = um => gapBands.find(b => Math.abs(um) <= b[0])[1];

function gapPicture(part, gap) {
  const square = 27, rows = gap.um, w = rows[0].length * square, h = rows.length * square, m = 16, body = [];
  rows.forEach((row, k) => row.forEach((um, i) => {
    if (um === null) return;
    const x = m + i * square, y = m + h - (k + 1) * square;
    body.push(S("rect", {x, y, width: square, height: square, class: "gap " + gapBand(um)}), S("text", {x: x + square / 2, y: y + square / 2 + 4, class: "t mid gap-text " + gapBand(um)}, num(um, Math.abs(um) < 9.95 ? 1 : 0)));
  }));
  const place = data.placements.find(p => p.id === gap.placement), at = part.told.placements.indexOf(gap.placement), turn = (part.kept.quarter_turns[at] || 0) * Math.PI / 2;
  const c = Math.round(Math.cos(turn)), n = Math.round(Math.sin(turn)), s = square / gap.square_mm;
  const to = p => [m + s * (place.at_mm[0] + c * p[0] - n * p[1] - gap.low_mm[0]), m + h - s * (place.at_mm[1] + n * p[0] + c * p[1] - gap.low_mm[1])];
  for (const f of part.kept.plan)
    if (f.kind !== "mark" && f.kind !== "boss") body.push(S("path", {d: pathOf(f.loops, to), class: "plan-line"}));
  body.push(S("text", {x: m + w / 2, y: h + 2 * m - 2, class: "t mid"}, "front"));
  return H("figure", {}, picture(w + 2 * m, h + 2 * m + 2, `Gap under the frame over ${part.id} at ${gap.placement}, micrometres in squares of ${num(gap.square_mm, 1)} mm`, ...body),
    H("figcaption", {}, H("strong", {}, part.id), " at ", gap.placement, `, squares of ${num(gap.square_mm, 1)} mm`));
}

/// What a step is about stands out; the rest of the machine stands round it.
function stepPicture(canvas, step) {
  const ids = new Set([...step.parts, ...step.joints.map(j => (report.joints.find(q => q.id === j) || {}).part).filter(Boolean)]);
  const width = 520, height = 340, placed = step.machine !== "" && placedItems.some(i => ids.has(i.part.id));
  const bold = new Set();  // bodies of the machine that the step is about
  let items;
  if (placed) {
    const purposes = step.joints.map(j => (data.joints[report.joints.findIndex(q => q.id === j)] || {}).purpose || "");
    if (purposes.some(p => /^frame to/.test(p))) bold.add("sheet");
    if (step.joints.includes("rails")) bold.add("rail");
    const shown = i => (i.part ? ids.has(i.part.id) : bold.has(i.kind));
    const top = Math.max(...[...bodyItems, ...placedItems].filter(shown).map(i => i.layer));
    items = [...bodyItems, ...placedItems].filter(i => i.layer <= top || ids.has(i.part && i.part.id));
  } else {
    let x = 0, y = 0, deep = 0;
    items = parts.filter(p => ids.has(p.id)).map(part => {
      const box = boxOf([{shape: part.shape, matrix: identity}]), item = {name: part.id, kind: "part", part, tint: part.tint, shape: part.shape, layer: 0, matrix: identity};
      const size = [0, 1].map(k => box.high[k] - box.low[k]);
      if (x > 0 && x + size[0] > 260) x = 0, y -= deep + 12, deep = 0;
      item.matrix = shiftBy(x - box.low[0], y - box.high[1], -box.low[2]);
      x += size[0] + 12, deep = Math.max(deep, size[1]);
      return item;
    });
  }
  canvas.width = width, canvas.height = height;
  const camera = fitted(items, {yaw: -0.6, pitch: 0.6}, width, height);
  paint(canvas.getContext("2d"), width, height, items, camera, {section: null, colours: coloursNow(), faded: i => placed && !(i.part ? ids.has(i.part.id) : bold.has(i.kind)), lit: null});
}
