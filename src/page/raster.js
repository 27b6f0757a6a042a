// Seen parallel, as a workshop drawing is. A small renderer of our own: a depth buffer and flat faces.

/// r right, u up, d towards the one who looks.
function basisOf(camera) {
  const cy = Math.cos(camera.yaw), sy = Math.sin(camera.yaw), cp = Math.cos(camera.pitch), sp = Math.sin(camera.pitch);
  const d = [sy * cp, -cy * cp, sp], r = [cy, sy, 0];
  return {r, d, u: [d[1] * r[2] - d[2] * r[1], d[2] * r[0] - d[0] * r[2], d[0] * r[1] - d[1] * r[0]]};
}

/// Model to pixels (x, y down) and depth (more is nearer).
function screenMatrix(camera, width, height, matrix) {
  const {r, u, d} = basisOf(camera), s = camera.scale, t = camera.target;
  const row = (v, f, add) => [f * v[0], f * v[1], f * v[2], -f * (v[0] * t[0] + v[1] * t[1] + v[2] * t[2]) + add];
  return product([...row(r, s, width / 2), ...row(u, -s, height / 2), ...row(d, s, 0), 0, 0, 0, 1], matrix);
}

/// Scale and target that show all items in a picture of that size.
function fitted(items, camera, width, height) {
  const {r, u, d} = basisOf(camera), low = [1e9, 1e9, 1e9], high = [-1e9, -1e9, -1e9];
  for (const item of items) {
    const p = item.shape.points, m = product([...r, 0, ...u, 0, ...d, 0, 0, 0, 0, 1], item.matrix);
    for (let i = 0; i < p.length; i += 3) {
      const q = moved(m, p[i], p[i + 1], p[i + 2]);
      for (let k = 0; k < 3; ++k) low[k] = Math.min(low[k], q[k]), high[k] = Math.max(high[k], q[k]);
    }
  }
  if (!items.length) return {...camera, scale: 1, target: [0, 0, 0]};
  const c = [0, 1, 2].map(k => (low[k] + high[k]) / 2);
  return {...camera,
          scale: 0.88 * Math.min(width / Math.max(1, high[0] - low[0]), height / Math.max(1, high[1] - low[1])),
          target: [0, 1, 2].map(k => c[0] * r[k] + c[1] * u[k] + c[2] * d[k])};
}

function rgbOf(hex) {
  const v = parseInt(hex.slice(1), 16);
  return [v >> 16 & 255, v >> 8 & 255, v & 255];
}

function projected(item, m) {
  const p = item.shape.points, out = new Float32Array(p.length);
  for (let i = 0; i < p.length; i += 3) {
    const x = p[i], y = p[i + 1], z = p[i + 2];
    out[i] = m[0] * x + m[1] * y + m[2] * z + m[3];
    out[i + 1] = m[4] * x + m[5] * y + m[6] * z + m[7];
    out[i + 2] = m[8] * x + m[9] * y + m[10] * z + m[11];
  }
  return out;
}

/// For a section: the coordinate along its axis, as the item's own points give it; beyond keeps what is cut away.
function cutterOf(section, item) {
  if (!section) return null;
  const row = item.matrix.slice(4 * section.axis, 4 * section.axis + 4), p = item.shape.points;
  const along = new Float32Array(p.length / 3), sign = section.flip ? -1 : 1;
  for (let i = 0; i < along.length; ++i)
    along[i] = sign * (row[0] * p[3 * i] + row[1] * p[3 * i + 1] + row[2] * p[3 * i + 2] + row[3] - section.at);
  return along;
}

/// Paints items into a 2-D context of width x height pixels. look: { section, lit(item, owner, facet), faded(item), colours }.
function paint(context, width, height, items, camera, look) {
  const image = context.createImageData(width, height), px = new Uint32Array(image.data.buffer);
  const depth = new Float32Array(width * height).fill(-1e9);
  const {r, u, d} = basisOf(camera), light = [0, 1, 2].map(k => 0.35 * u[k] - 0.3 * r[k] + 0.88 * d[k]);
  const pack = (c, f) => (255 << 24 | Math.min(255, c[2] * f) << 16 | Math.min(255, c[1] * f) << 8 | Math.min(255, c[0] * f)) >>> 0;
  const lit = rgbOf(look.colours.lit), cut = rgbOf(look.colours.cut), ink = rgbOf(look.colours.line);
  for (const item of items) {
    const q = projected(item, screenMatrix(camera, width, height, item.matrix)), along = cutterOf(look.section, item);
    const f = item.shape.facets, n = item.shape.normals, m = item.matrix, tint = rgbOf(look.faded && look.faded(item) ? look.colours.faded : item.tint);
    for (let i = 0; i < f.length; i += 3) {
      const a = 3 * f[i], b = 3 * f[i + 1], c = 3 * f[i + 2];
      const area = (q[b] - q[a]) * (q[c + 1] - q[a + 1]) - (q[b + 1] - q[a + 1]) * (q[c] - q[a]);
      const back = area >= 0;  // y runs down
      if (area === 0 || (back && !along)) continue;
      const x0 = Math.max(0, Math.ceil(Math.min(q[a], q[b], q[c]) - 0.5)), x1 = Math.min(width - 1, Math.floor(Math.max(q[a], q[b], q[c]) - 0.5));
      const y0 = Math.max(0, Math.ceil(Math.min(q[a + 1], q[b + 1], q[c + 1]) - 0.5)), y1 = Math.min(height - 1, Math.floor(Math.max(q[a + 1], q[b + 1], q[c + 1]) - 0.5));
      if (x0 > x1 || y0 > y1) continue;
      const nx = m[0] * n[i] + m[1] * n[i + 1] + m[2] * n[i + 2], ny = m[4] * n[i] + m[5] * n[i + 1] + m[6] * n[i + 2], nz = m[8] * n[i] + m[9] * n[i + 1] + m[10] * n[i + 2];
      const shade = 0.58 + 0.42 * Math.max(0, nx * light[0] + ny * light[1] + nz * light[2]);
      const marked = look.lit && look.lit(item, item.shape.owners ? item.shape.owners[i / 3] : 0, i / 3);
      const colour = back ? pack(cut, 1) : pack(marked ? lit : tint, shade);
      const inv = 1 / area;
      for (let y = y0; y <= y1; ++y)
        for (let x = x0; x <= x1; ++x) {
          const cx = x + 0.5, cy = y + 0.5;
          const wa = ((q[b] - cx) * (q[c + 1] - cy) - (q[b + 1] - cy) * (q[c] - cx)) * inv;
          const wb = ((q[c] - cx) * (q[a + 1] - cy) - (q[c + 1] - cy) * (q[a] - cx)) * inv, wc = 1 - wa - wb;
          if (wa < 0 || wb < 0 || wc < 0) continue;
          if (along && wa * along[f[i]] + wb * along[f[i + 1]] + wc * along[f[i + 2]] > 0) continue;
          const z = wa * q[a + 2] + wb * q[b + 2] + wc * q[c + 2], at = y * width + x;
          if (z > depth[at]) depth[at] = z, px[at] = colour;
        }
    }
  }
  if (look.lit) ghosts(px, depth, width, height, items, camera, look, lit);
  const stroke = pack(ink, 1), near = 1.5;
  for (const item of items) {
    const lines = linesOf(item.shape), q = projected(item, screenMatrix(camera, width, height, item.matrix)), along = cutterOf(look.section, item);
    for (let i = 0; i < lines.length; i += 2) {
      const a = 3 * lines[i], b = 3 * lines[i + 1], dx = q[b] - q[a], dy = q[b + 1] - q[a + 1];
      const steps = Math.ceil(Math.max(Math.abs(dx), Math.abs(dy)));
      if (steps > 4 * (width + height)) continue;
      for (let s = 0; s <= steps; ++s) {
        const t = steps ? s / steps : 0, x = Math.floor(q[a] + t * dx), y = Math.floor(q[a + 1] + t * dy);
        if (x < 0 || y < 0 || x >= width || y >= height) continue;
        if (along && along[lines[i]] + t * (along[lines[i + 1]] - along[lines[i]]) > 0) continue;
        const at = y * width + x;
        if (depth[at] > -1e8 && q[a + 2] + t * (q[b + 2] - q[a + 2]) + near >= depth[at]) px[at] = stroke;
      }
    }
  }
  context.putImageData(image, 0, 0);
}

/// What is marked but hidden behind something shines through.
function ghosts(px, depth, width, height, items, camera, look, lit) {
  const seen = new Uint8Array(width * height);
  for (const item of items) {
    if (!look.litKey(item)) continue;
    const q = projected(item, screenMatrix(camera, width, height, item.matrix)), f = item.shape.facets;
    for (let i = 0; i < f.length; i += 3) {
      if (!look.lit(item, item.shape.owners ? item.shape.owners[i / 3] : 0, i / 3)) continue;
      const a = 3 * f[i], b = 3 * f[i + 1], c = 3 * f[i + 2], area = (q[b] - q[a]) * (q[c + 1] - q[a + 1]) - (q[b + 1] - q[a + 1]) * (q[c] - q[a]);
      if (area === 0) continue;
      const x0 = Math.max(0, Math.floor(Math.min(q[a], q[b], q[c]))), x1 = Math.min(width - 1, Math.ceil(Math.max(q[a], q[b], q[c])));
      const y0 = Math.max(0, Math.floor(Math.min(q[a + 1], q[b + 1], q[c + 1]))), y1 = Math.min(height - 1, Math.ceil(Math.max(q[a + 1], q[b + 1], q[c + 1])));
      for (let y = y0; y <= y1; ++y)
        for (let x = x0; x <= x1; ++x) {
          const at = y * width + x, cx = x + 0.5, cy = y + 0.5;
          if (seen[at] || depth[at] < -1e8) continue;
          const wa = ((q[b] - cx) * (q[c + 1] - cy) - (q[b + 1] - cy) * (q[c] - cx)) / area, wb = ((q[c] - cx) * (q[a + 1] - cy) - (q[c + 1] - cy) * (q[a] - cx)) / area;
          if (wa < 0 || wb < 0 || wa + wb > 1) continue;
          if (wa * q[a + 2] + wb * q[b + 2] + (1 - wa - wb) * q[c + 2] > depth[at] - 0.02 * camera.scale) continue;
          seen[at] = 1;
          const old = px[at], mix = (shift, v) => Math.round(0.65 * (old >> shift & 255) + 0.35 * v) << shift;
          px[at] = (255 << 24 | mix(16, lit[2]) | mix(8, lit[1]) | mix(0, lit[0])) >>> 0;
        }
    }
  }
}

/// The nearest face at a pixel: { item, owner } or null.
function picked(items, camera, width, height, section, x, y) {
  let best = null;
  for (const item of items) {
    const q = projected(item, screenMatrix(camera, width, height, item.matrix)), along = cutterOf(section, item), f = item.shape.facets;
    for (let i = 0; i < f.length; i += 3) {
      const a = 3 * f[i], b = 3 * f[i + 1], c = 3 * f[i + 2];
      const area = (q[b] - q[a]) * (q[c + 1] - q[a + 1]) - (q[b + 1] - q[a + 1]) * (q[c] - q[a]);
      if (area === 0 || (area > 0 && !along)) continue;
      const wa = ((q[b] - x) * (q[c + 1] - y) - (q[b + 1] - y) * (q[c] - x)) / area;
      const wb = ((q[c] - x) * (q[a + 1] - y) - (q[c + 1] - y) * (q[a] - x)) / area, wc = 1 - wa - wb;
      if (wa < 0 || wb < 0 || wc < 0) continue;
      if (along && wa * along[f[i]] + wb * along[f[i + 1]] + wc * along[f[i + 2]] > 0) continue;
      const z = wa * q[a + 2] + wb * q[b + 2] + wc * q[c + 2];
      if (!best || z > best.z) best = {z, item, owner: item.shape.owners ? item.shape.owners[i / 3] : 0};
    }
  }
  return best;
}
