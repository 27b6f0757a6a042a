// The bed's own map: a plan with lines of equal height before and after the shims, and the same in words.
const signed = um => (Math.round(um) > 0 ? "+" : Math.round(um) < 0 ? "−" : "") + Math.abs(Math.round(um));

/// One plan, the front below. `which`: before_um or after_um; both plans of a map share `step` and `low`.
function bedMapPicture(map, which, step, low, shims, words) {
  const [bw, bd] = map.bed_mm, {x_mm: xs, y_mm: ys} = map.grid, z = map.grid[which];
  const s = 400 / Math.max(bw, xs.at(-1) - xs[0]), m = 26, wide = Math.max(bw / 2, xs.at(-1), -xs[0]), deep = Math.max(bd / 2, ys.at(-1), -ys[0]);
  const px = x => m + s * (x + wide), py = y => m + s * (deep - y), body = [];
  const bands = 5, each = Math.max(1, (-low * 2) / bands), shades = new Array(bands).fill("");
  for (let k = 0; k + 1 < ys.length; ++k)
    for (let i = 0; i + 1 < xs.length; ++i) {
      const middle = (z[k][i] + z[k][i + 1] + z[k + 1][i] + z[k + 1][i + 1]) / 4, band = Math.min(bands - 1, Math.max(0, Math.floor((middle - low) / each)));
      shades[band] += `M${num(px(xs[i]))} ${num(py(ys[k]))}H${num(px(xs[i + 1]))}V${num(py(ys[k + 1]))}H${num(px(xs[i]))}Z`;
    }
  shades.forEach((d, band) => d && body.push(S("path", {d, class: "depth d" + band})));
  body.push(S("rect", {x: num(px(-bw / 2)), y: num(py(bd / 2)), width: num(s * bw), height: num(s * bd), class: "bed-edge"}));
  const all = z.flat(), least = Math.min(...all), most = Math.max(...all), taken = [];
  const numbers = map.points.map(p => [px(p.at_mm[0]), py(p.at_mm[1]), p[which]]);
  const columns = new Set(map.points.map(p => Math.round(p.at_mm[0]))), rows = new Set(map.points.map(p => Math.round(p.at_mm[1])));
  const every = list => { const a = [...list].sort((p, q) => p - q), n = Math.ceil(a.length / 7); return new Set(a.filter((_, i) => i % n === 0)); };
  const shownX = every(columns), shownY = every(rows), shown = numbers.filter((_, i) => shownX.has(Math.round(map.points[i].at_mm[0])) && shownY.has(Math.round(map.points[i].at_mm[1])));
  const mounts = map.mounts.map(t => [px(t.at_mm[0]), py(t.at_mm[1])]), heights = shown.map(p => [p[0], p[1] + 10]);
  // A mount's words stand where they are clear of the heights.
  const clear = p => Math.min(...heights.map(q => Math.max(Math.abs(p[0] - q[0]) / 3, Math.abs(p[1] - 4 - q[1]))));
  const said = mounts.map(p => [-14, 24, -26, 36].map(dy => [p[0], p[1] + dy]).reduce((best, q) => (Math.min(15, clear(q)) > Math.min(15, clear(best)) + 0.5 ? q : best)));
  const blocked = [...heights, ...mounts, ...said.flatMap(p => [[p[0] - 27, p[1] - 4], [p[0], p[1] - 4], [p[0] + 27, p[1] - 4]])];
  for (let n = Math.ceil(least / step); n * step <= most; ++n) {
    const pieces = contour(xs, ys, z, n * step + 1e-6);
    if (!pieces.length) continue;
    body.push(S("path", {d: pieces.map(p => `M${num(px(p[0]), 1)} ${num(py(p[1]), 1)}L${num(px(p[2]), 1)} ${num(py(p[3]), 1)}`).join(""), class: n === 0 ? "contour five" : "contour"}));
    const room = p => Math.min(...[...taken, ...blocked].map(q => Math.max(Math.abs(p[0] - q[0]) / 2.8, Math.abs(p[1] - q[1]))), 1e6);
    // A second label where a line is long or comes again far from the first.
    const spots = pieces.map(p => [px((p[0] + p[2]) / 2), py((p[1] + p[3]) / 2)]), own = [];
    for (const least of [15, 30]) {
      const far = p => own.every(q => Math.hypot(p[0] - q[0], p[1] - q[1]) > 160);
      const spot = spots.filter(far).reduce((best, p) => (room(p) > (best ? room(best) : least) ? p : best), null);
      if (!spot) break;
      own.push(spot), taken.push(spot), body.push(S("text", {x: num(spot[0]), y: num(spot[1] + 4), class: "t mid halo level-text"}, signed(n * step)));
    }
  }
  for (const [x, y] of numbers) body.push(S("circle", {cx: num(x), cy: num(y), r: 1.7, class: "mount-dot"}));
  for (const [x, y, um] of shown) body.push(S("text", {x: num(x), y: num(y + 14), class: "t mid halo height-text"}, signed(um)));
  map.mounts.forEach((t, i) => {
    const [x, y] = mounts[i];
    body.push(S("circle", {cx: num(x), cy: num(y), r: 7, class: "mount"}), S("path", {d: `M${num(x - 11)} ${num(y)}h22M${num(x)} ${num(y - 11)}v22`, class: "thin"}),
      S("text", {x: num(said[i][0]), y: num(said[i][1]), class: "t mid halo strong"}, shims[i] > 0 ? `shim ${num(shims[i], 3)} mm` : "no shim"));
  });
  const below = num(py(-deep) + 19);
  body.push(S("text", {x: num(px(0)), y: below, class: "t mid strong"}, "front"), S("text", {x: num(px(0)), y: num(m - 9), class: "t mid"}, "rear"),
    S("text", {x: num(px(-wide)), y: below, class: "t"}, "left"), S("text", {x: num(px(wide)), y: below, class: "t end"}, "right"));
  return picture(px(wide) + m, py(-deep) + m, words, ...body);
}

/// What the kit's own maps say; null where it names none.
function bedMapSection() {
  const map = data.bed_level;
  if (!map) return null;
  const r = map.reading, range = map.before.range_mm * 1000, step = [1, 2, 5, 10, 20, 50, 100, 200, 500].find(v => range / v <= 15) || 1000;
  const low = Math.min(-1, ...map.points.map(p => Math.min(p.before_um, -p.before_um))), now = map.mounts.map(m => m.now_mm), then = map.mounts.map(m => m.shim_mm);
  const thick = m => (m.shim_mm === 0 ? "no shim" : `${num(m.shim_mm, 3)} mm` + (m.stock_mm.length ? ", stock " + m.stock_mm.map(v => num(v, 3)).join(" + ") : m.layers ? ", " + some(m.layers, "layer") : ""));
  const plan = (which, shims, title, range, more) => H("figure", {class: "plan"}, bedMapPicture(map, which, step, low, shims, `${title}: bed from above, front below, lines of equal height every ${num(step)} micrometres, range ${num(range, 3)} mm`),
    H("figcaption", {}, H("strong", {}, title), `: range ${num(range, 3)} mm`, more));
  const worse = map.other_readings, worst = worse[0];
  const whole = v => right(signed(v));
  return [H("h3", {}, map.map_date ? "The bed's map of " + map.map_date : "The bed's map"),
    H("p", {}, `${some(map.points.length, "point")}, ${some(map.repeats, "repeat")}, from ${map.files.join(", ")}. They are this machine's alone: on another one take your own. A positive number in them means that the bed is ${r.positive_is} there; they show the machine turned by ${num(r.turned_deg)} degrees, ${r.mirrored ? "mirrored" : "not mirrored"}. Here they are turned back: left is left, and the front is below.`),
    map.leave_it ? H("p", {id: "map-advice"}, H("strong", {}, "Leave it: "), `the best shims would gain less than the map's own noise.`)
      : H("p", {id: "map-advice"}, H("strong", {}, `With the shims below the bed's range goes from ${num(map.before.range_mm, 3)} to ${num(map.after.range_mm, 3)} mm`), `; shims of any thickness would reach ${num(map.best_possible.range_mm, 3)}. Each point of the next map lies within ${num(map.after.band_mm, 3)} mm of the one foretold.`),
    H("div", {class: "figures maps"}, plan("before_um", now, "Measured", map.before.range_mm, ". Under each mount: what stands there now."), map.leave_it ? null : plan("after_um", then, "Foretold", map.after.range_mm, ". Under each mount: all that is to stand there.")),
    H("p", {class: "small"}, `Numbers are micrometres above (+) or below (−) the map's mean; a line every ${num(step)} µm, the thick one at 0; the stronger the tint, the lower. Circles with a cross are the mounts.`),
    table("Shims, all there is to be under each mount", ["Mount", "x mm", "y mm", "Now mm", "Put under it"], map.mounts.map(m => row([m.id, right(num(m.at_mm[0], 1)), right(num(m.at_mm[1], 1)), right(num(m.now_mm, 3)), thick(m)]))),
    map.seating_gap.mount && !map.leave_it ? H("p", {class: "caution"}, `A stiff bed would miss ${map.seating_gap.mount} by ${num(map.seating_gap.mm, 3)} mm: do not close that with the screw.`) : null,
    worst ? [H("p", {id: "map-otherwise"}, `If the map was read the wrong way, these shims make it worse: up to ${num(worst.range_mm, 3)} mm in place of ${num(map.after.range_mm, 3)} mm. The next map shows it at once: its range then is one of these. Take the shims out again and find the way with one shim of 0.4 mm under one named corner.`),
      H("details", {}, H("summary", {}, `The next map's range, read otherwise: ${worse.length} ways`), table("The next map's range if the truth is", ["What a map means", "Range mm"], worse.map(o => row([capital(o.words), right(num(o.range_mm, 3))]))))] : null,
    H("details", {}, H("summary", {}, `All ${map.points.length} points as numbers`), table("Points of the map, seen from the front, from the rear left on", ["x mm", "y mm", "Measured µm", "Foretold µm"],
      map.points.slice().sort((a, b) => b.at_mm[1] - a.at_mm[1] || a.at_mm[0] - b.at_mm[0]).map(p => row([right(num(p.at_mm[0], 1)), right(num(p.at_mm[1], 1)), whole(p.before_um), whole(p.after_um)])), "bare-numbers"))];
}
