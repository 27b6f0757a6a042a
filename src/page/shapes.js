// Shapes: what the data holds, as triangles. Millimetres; matrices are 4 x 4, row by row.
let data, report;

function bytesOf(base64) {
  const text = atob(base64), bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; ++i) bytes[i] = text.charCodeAt(i);
  return bytes;
}

const identity = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];
const shiftBy = (x, y, z) => [1, 0, 0, x, 0, 1, 0, y, 0, 0, 1, z, 0, 0, 0, 1];
function product(a, b) {
  const m = new Array(16).fill(0);
  for (let i = 0; i < 4; ++i)
    for (let k = 0; k < 4; ++k)
      for (let j = 0; j < 4; ++j) m[4 * i + k] += a[4 * i + j] * b[4 * j + k];
  return m;
}
const moved = (m, x, y, z) => [
  m[0] * x + m[1] * y + m[2] * z + m[3], m[4] * x + m[5] * y + m[6] * z + m[7], m[8] * x + m[9] * y + m[10] * z + m[11]];

/// { points: Float32Array, facets: index array, normals: Float32Array a facet }
function shapeOf(points, facets, owners) {
  const normals = new Float32Array(facets.length);
  for (let i = 0; i < facets.length; i += 3) {
    const a = 3 * facets[i], b = 3 * facets[i + 1], c = 3 * facets[i + 2];
    const ux = points[b] - points[a], uy = points[b + 1] - points[a + 1], uz = points[b + 2] - points[a + 2];
    const vx = points[c] - points[a], vy = points[c + 1] - points[a + 1], vz = points[c + 2] - points[a + 2];
    const nx = uy * vz - uz * vy, ny = uz * vx - ux * vz, nz = ux * vy - uy * vx;
    const size = Math.sqrt(nx * nx + ny * ny + nz * nz) || 1;
    normals[i] = nx / size, normals[i + 1] = ny / size, normals[i + 2] = nz / size;
  }
  return {points, facets, normals, owners: owners || null, lines: null};
}

/// Edges where two faces meet at more than 25 degrees, as pairs of corners; found once.
function linesOf(shape) {
  if (shape.lines) return shape.lines;
  const open = new Map(), lines = [], f = shape.facets, n = shape.normals, count = shape.points.length / 3;
  for (let i = 0; i < f.length; i += 3)
    for (let k = 0; k < 3; ++k) {
      const a = f[i + k], b = f[i + (k + 1) % 3], key = Math.min(a, b) * count + Math.max(a, b), other = open.get(key);
      if (other === undefined) open.set(key, i);
      else {
        open.delete(key);
        if (n[i] * n[other] + n[i + 1] * n[other + 1] + n[i + 2] * n[other + 2] < 0.906) lines.push(a, b);
      }
    }
  return (shape.lines = Uint32Array.from(lines));
}

/// A polygon (corners counter-clockwise or clockwise), with rectangular holes, between two heights.
function prismOf(outline, holes, z0, z1) {
  const loops = [outline, ...holes].map(loop => loop.slice());
  const turn = loop => loop.reduce((s, p, i) => s + p[0] * loop[(i + 1) % loop.length][1] - p[1] * loop[(i + 1) % loop.length][0], 0);
  loops.forEach((loop, i) => { if ((turn(loop) > 0) !== (i === 0)) loop.reverse(); });
  const points = [], facets = [];
  for (const loop of loops) {
    const first = points.length / 3;
    for (const p of loop) points.push(p[0], p[1], z0, p[0], p[1], z1);
    for (let i = 0; i < loop.length; ++i) {
      const a = first + 2 * i, b = first + 2 * ((i + 1) % loop.length);
      facets.push(a, b, b + 1, a, b + 1, a + 1);
    }
  }
  for (const [a, b, c] of cappedBy(loops)) facets.push(2 * a + 1, 2 * b + 1, 2 * c + 1, 2 * a, 2 * c, 2 * b);
  return shapeOf(Float32Array.from(points), Uint32Array.from(facets));
}

/// Triangles over a polygon with holes, by the corners' numbers: holes are joined to the outline, then ears are cut.
function cappedBy(loops) {
  const at = loops.flat();
  let ring = loops[0].map((_, i) => i), first = loops[0].length;
  const side = (a, b, c) => (at[b][0] - at[a][0]) * (at[c][1] - at[a][1]) - (at[b][1] - at[a][1]) * (at[c][0] - at[a][0]);
  for (const loop of loops.slice(1)) {
    const hole = loop.map((_, i) => first + i);
    first += loop.length;
    let best = null;
    for (let i = 0; i < ring.length; ++i)
      for (let k = 0; k < hole.length; ++k) {
        const d = (at[ring[i]][0] - at[hole[k]][0]) ** 2 + (at[ring[i]][1] - at[hole[k]][1]) ** 2;
        if (!best || d < best.d) best = {d, i, k};
      }
    if (!best) continue;
    const way = [...hole.slice(best.k), ...hole.slice(0, best.k), hole[best.k]];
    ring = [...ring.slice(0, best.i + 1), ...way, ring[best.i], ...ring.slice(best.i + 1)];
  }
  const ears = [];
  let guard = 4 * ring.length * ring.length;
  for (let i = 0; ring.length > 3 && guard-- > 0; ++i) {
    const n = ring.length, a = ring[i % n], b = ring[(i + 1) % n], c = ring[(i + 2) % n];
    if (side(a, b, c) <= 0) {
      if (side(a, b, c) === 0 && i > 2 * n) ring.splice((i + 1) % n, 1), i = 0;
      continue;
    }
    const blocked = ring.some(p => p !== a && p !== b && p !== c &&
      (at[p][0] !== at[a][0] || at[p][1] !== at[a][1]) && (at[p][0] !== at[c][0] || at[p][1] !== at[c][1]) &&
      side(a, b, p) >= 0 && side(b, c, p) >= 0 && side(c, a, p) >= 0);
    if (blocked) continue;
    ears.push([a, b, c]);
    ring.splice((i + 1) % n, 1);
    i = -1;
  }
  if (ring.length === 3) ears.push([ring[0], ring[1], ring[2]]);
  return ears;
}

/// The frame's sheet between its underside and its upper face, as far as its shape is known.
function sheetShape(frame) {
  const points = [], facets = [], nx = frame.x_mm.length, ny = frame.y_mm.length;
  const id = (i, k, up) => 2 * (k * nx + i) + up;
  const known = (i, k) => i >= 0 && k >= 0 && i < nx - 1 && k < ny - 1 &&
    [[0, 0], [1, 0], [0, 1], [1, 1]].every(([u, v]) => frame.z_mm[k + v][i + u] !== null);
  for (let k = 0; k < ny; ++k)
    for (let i = 0; i < nx; ++i) {
      const z = frame.z_mm[k][i] ?? 0;
      points.push(frame.x_mm[i], frame.y_mm[k], z, frame.x_mm[i], frame.y_mm[k], z + frame.thickness_mm);
    }
  const wall = (a, b) => facets.push(a, b, b + 1, a, b + 1, a + 1);
  for (let k = 0; k < ny - 1; ++k)
    for (let i = 0; i < nx - 1; ++i) {
      if (!known(i, k)) continue;
      const a = id(i, k, 0), b = id(i + 1, k, 0), c = id(i + 1, k + 1, 0), d = id(i, k + 1, 0);
      facets.push(a + 1, b + 1, c + 1, a + 1, c + 1, d + 1, a, c, b, a, d, c);
      if (!known(i, k - 1)) wall(a, b);
      if (!known(i + 1, k)) wall(b, c);
      if (!known(i, k + 1)) wall(c, d);
      if (!known(i - 1, k)) wall(d, a);
    }
  return shapeOf(Float32Array.from(points), Uint32Array.from(facets));
}

const tints = ["#c88a2e", "#4f8fb5", "#7d9a45", "#b5645a", "#8a76b0", "#3f9a8b", "#a3885f", "#b3749a", "#6b80c4", "#8f8d4c"];

let parts = [];
const partById = id => parts.find(p => p.id === id) || null;

/// The very bytes of the part's STL.
function stlOf(part) {
  const f = part.facets, p = part.file, bytes = new Uint8Array(84 + 50 * (f.length / 3)), view = new DataView(bytes.buffer);
  bytes.set(bytesOf(part.kept.header));
  view.setUint32(80, f.length / 3, true);
  let to = 84;
  const put = (x, y, z) => {
    for (const v of [x, y, z]) view.setFloat32(to, v + 0, true), to += 4;
  };
  for (let i = 0; i < f.length; i += 3) {
    const [a, b, c] = [f[i], f[i + 1], f[i + 2]].map(v => [p[3 * v], p[3 * v + 1], p[3 * v + 2]]);
    const u = [b[0] - a[0], b[1] - a[1], b[2] - a[2]], v = [c[0] - a[0], c[1] - a[1], c[2] - a[2]];
    const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    const size = Math.sqrt(n[0] * n[0] + n[1] * n[1] + n[2] * n[2]), scale = size > 0 ? 1 / size : 0;
    put(scale * n[0] + 0, scale * n[1] + 0, scale * n[2] + 0);
    put(...a), put(...b), put(...c);
    to += 2;
  }
  return bytes;
}

const bodyTints = {base: "#9b9b95", rail: "#8b949c", carriage: "#5f6a74", stop: "#8d5a3a", sheet: "#b7bcc0", bed: "#c9b9a6"};
let bodyItems = [], placedItems = [], looseItems = [];

function boxOf(items) {
  const low = [1e9, 1e9, 1e9], high = [-1e9, -1e9, -1e9];
  for (const item of items) {
    const p = item.shape.points;
    for (let i = 0; i < p.length; i += 3) {
      const q = moved(item.matrix, p[i], p[i + 1], p[i + 2]);
      for (let k = 0; k < 3; ++k) low[k] = Math.min(low[k], q[k]), high[k] = Math.max(high[k], q[k]);
    }
  }
  return items.length ? {low, high} : {low: [-10, -10, -10], high: [10, 10, 10]};
}

const layerStep = 26;  // mm between neighbours when wholly apart
/// The machine with everything in place (apart = 0) or taken apart along Z (1).
function machineItems(apart, show) {
  const items = [...bodyItems, ...placedItems].filter(i => show(i));
  const away = items.map(i => apart > 0 ? {...i, matrix: product(shiftBy(0, 0, apart * layerStep * i.layer), i.matrix)} : i);
  return apart > 0 ? [...away, ...looseItems] : away;
}

/// Takes a set to draw from; may be called again with another one.
function takeSet(set) {
  const before = parts;
  data = set;
  report = data.report;
  parts = report.parts.map((told, n) => {
    const kept = data.parts[n], tint = tints[n % tints.length];
    const same = before.find(p => ["points", "facets", "owners", "header"].every(key => p.kept[key] === kept[key]) && String(p.kept.print_to_part) === String(kept.print_to_part));
    if (same) return {n, told, id: told.id, kept, file: same.file, facets: same.facets, tint, shape: same.shape};
    const raw = bytesOf(kept.points), index = bytesOf(kept.facets);
    const file = new Float32Array(raw.buffer);
    const facets = kept.index_bytes === 2 ? new Uint16Array(index.buffer) : new Uint32Array(index.buffer);
    const points = new Float32Array(file.length), m = kept.print_to_part;
    for (let i = 0; i < file.length; i += 3) points.set(moved(m, file[i], file[i + 1], file[i + 2]), i);
    const owners = new Uint16Array(bytesOf(kept.owners).buffer);
    return {n, told, id: told.id, kept, file, facets, tint, shape: shapeOf(points, facets, owners)};
  });
  bodyItems = data.bodies.map(b => ({
    name: b.name, kind: b.kind, part: null, layer: b.layer, tint: bodyTints[b.kind], matrix: identity,
    shape: prismOf(b.outline_mm, b.holes_mm || [], b.z_mm[0], b.z_mm[1])}));
  if (data.frame && !data.frame.replaced)
    bodyItems.push({name: "moving frame", kind: "sheet", part: null, layer: 5, tint: bodyTints.sheet, matrix: identity,
                    shape: sheetShape(data.frame)});
  placedItems = parts.flatMap(part => part.kept.places.map(place => ({
    name: part.id + ", " + place.where, where: place.where, kind: "part", part, layer: place.layer, tint: part.tint,
    matrix: place.matrix, shape: part.shape})));
  // What does not stand in the machine lies in a row before it.
  const machine = boxOf(bodyItems.filter(i => i.kind !== "bed"));
  let x = machine.low[0];
  looseItems = parts.filter(p => p.kept.places.length === 0).map(part => {
    const box = boxOf([{shape: part.shape, matrix: identity}]);
    const item = {name: part.id, where: "beside the machine", kind: "part", part, layer: 0, tint: part.tint, shape: part.shape,
                  loose: true,
                  matrix: shiftBy(x - box.low[0], machine.low[1] - 15 - box.high[1], machine.low[2] - box.low[2])};
    x += box.high[0] - box.low[0] + 12;
    return item;
  });
}
takeSet(JSON.parse(document.getElementById("set").textContent));
