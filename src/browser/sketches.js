// How to take a measure, drawn: what we have a drawing for. By the place of the value in the kit.
const sketchText = (x, y, words, end) => S("text", {x, y, class: ("t " + (end ?? "mid")).trim()}, words);
const arrows = (x0, y0, x1, y1) => {
  const a = Math.atan2(y1 - y0, x1 - x0), tip = (x, y, turn) => `M${num(x + 7 * Math.cos(a + turn), 1)} ${num(y + 7 * Math.sin(a + turn), 1)}L${num(x, 1)} ${num(y, 1)}L${num(x + 7 * Math.cos(a - turn), 1)} ${num(y + 7 * Math.sin(a - turn), 1)}`;
  return S("path", {class: "thin", d: `M${num(x0)} ${num(y0)}L${num(x1)} ${num(y1)}` + tip(x0, y0, 0.4) + tip(x1, y1, Math.PI - 0.4)});
};

const sketchKinds = [
  [/\/dome\/radius(_x|_y)?_mm$/, () => picture(340, 150, "A straightedge lies on the ends of the bowed sheet, a feeler gauge goes under its middle",
    S("rect", {x: 40, y: 38, width: 260, height: 16, class: "steel"}), sketchText(170, 30, "straightedge, its length between the two touching points"),
    S("path", {d: "M20 45Q170 136 320 45V53Q170 144 20 53Z", class: "metal"}),
    S("rect", {x: 163, y: 55, width: 14, height: 35, class: "screw"}), arrows(192, 55, 192, 90), sketchText(170, 118, "gap in the middle"),
    sketchText(170, 140, "hollow side up; on the crown, balance it and take both ends"))],
  [/\/sheet_thickness_mm$/, () => picture(340, 120, "The jaws of a caliper over the edge of the sheet",
    S("rect", {x: 90, y: 52, width: 220, height: 14, class: "metal"}), S("path", {d: "M40 20H130V50H110V34H60V98H110V68H130V112H40Z", class: "steel"}), arrows(150, 30, 150, 51), arrows(150, 88, 150, 67),
    sketchText(230, 40, "sheet, paint included"), sketchText(230, 100, "away from dents and holes"))],
  [/\/hole_pattern\/pitch_mm$|\/bed_mounts\/pitch_mm$/, () => picture(340, 200, "The frame from above with its four outermost holes; left to right and front to rear, centre to centre",
    S("rect", {x: 110, y: 20, width: 200, height: 140, class: "plate"}), [[140, 45], [280, 45], [140, 135], [280, 135]].map(([x, y]) => S("circle", {cx: x, cy: y, r: 7, class: "hole"})),
    arrows(140, 178, 280, 178), sketchText(210, 195, "left to right"), arrows(92, 45, 92, 135), sketchText(86, 94, "front to rear", "end"), sketchText(210, 94, "centre to centre"))],
  [/\/rails\/pitch_mm$/, () => picture(340, 130, "Two rails from the front; the distance of their centre lines",
    [90, 250].map(x => [S("rect", {x: x - 14, y: 50, width: 28, height: 34, class: "steel"}), S("path", {d: `M${x} 36V100`, class: "axis"})]), S("rect", {x: 40, y: 84, width: 260, height: 12, class: "metal"}),
    arrows(90, 30, 250, 30), sketchText(170, 22, "centre to centre: outside to outside, less one rail"), sketchText(170, 118, "from the front"))],
  [/\/carriages\/spacing_mm$/, () => picture(340, 120, "One rail from the side with its two carriages; the distance of their middles",
    S("rect", {x: 20, y: 66, width: 300, height: 14, class: "steel"}), [100, 240].map(x => [S("rect", {x: x - 34, y: 42, width: 68, height: 40, class: "carriage"}), S("path", {d: `M${x} 28V96`, class: "axis"})]),
    arrows(100, 24, 240, 24), sketchText(170, 18, "middle to middle"), sketchText(170, 110, "along one rail"))],
  [/\/parts\/\d+\/(thickness|height)_mm$/, () => picture(340, 100, "A part from the side; its height",
    S("rect", {x: 90, y: 30, width: 160, height: 44, class: "printed"}), arrows(272, 30, 272, 74), sketchText(280, 56, "this", ""))],
];
const sketchOf = pointer => {
  const found = sketchKinds.find(([pattern]) => pattern.test(pointer));
  return found ? H("figure", {class: "sketch"}, found[1]()) : null;
};
