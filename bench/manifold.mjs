// Builds with the manifold library what bedwright_subject names, and prints the median milliseconds of a solid.
// usage: manifold.mjs tree POLYGONS.json TIMES | manifold.mjs cut POLYGONS.json DIRECT.stl TIMES
// tree: the whole part as one lazy tree. cut: one boolean that takes the crossing cutters from the direct body.
import fs from 'node:fs';
import {createRequire} from 'node:module';
import path from 'node:path';

const require = createRequire(path.resolve(path.dirname(new URL(import.meta.url).pathname), '../tests/referees/package.json'));
const Module = (await import(require.resolve('manifold-3d'))).default;
const library = await Module();
library.setup();
const {Manifold, Mesh, CrossSection} = library;

const [what, file, ...rest] = process.argv.slice(2);
const part = JSON.parse(fs.readFileSync(file));
const beyond = 1;  // open ends stop this far off the part

/// The material below the seat, as a closed body over the part's box and a rim.
function seatSlab(bottom) {
  const {x0, y0, step, nx, ny, z} = part.seat;
  const columns = nx + 1, count = columns * (ny + 1), at = [];
  for (let layer = 0; layer < 2; ++layer)
    for (let j = 0; j <= ny; ++j)
      for (let i = 0; i <= nx; ++i) at.push(x0 + i * step, y0 + j * step, layer ? z[j * columns + i] : bottom);
  const t = [];
  const quad = (a, b, c, d) => t.push(a, b, c, a, c, d);
  for (let j = 0; j < ny; ++j)
    for (let i = 0; i < nx; ++i) {
      const a = j * columns + i, b = a + 1, c = b + columns, d = a + columns;
      quad(count + a, count + b, count + c, count + d);
      quad(a, d, c, b);
    }
  for (let i = 0; i < nx; ++i) {
    quad(i, i + 1, count + i + 1, count + i);
    const a = ny * columns + i;
    quad(a + 1, a, count + a, count + a + 1);
  }
  for (let j = 0; j < ny; ++j) {
    const a = j * columns, b = a + columns;
    quad(b, a, count + a, count + b);
    quad(a + nx, b + nx, count + b + nx, count + a + nx);
  }
  return new Manifold(new Mesh({numProp: 3, vertProperties: new Float32Array(at), triVerts: new Uint32Array(t)}));
}

const low = part.low - beyond, high = part.high + beyond;

function prism(f, from, to) {
  return Manifold.extrude(new CrossSection(f.loops, 'EvenOdd'), to - from).translate([0, 0, from]);
}

function upright(f, slab) {
  const from = typeof f.from === 'number' ? f.from : low, to = typeof f.to === 'number' ? f.to : high;
  if (f.to === 'seat') return Manifold.intersection(prism(f, from, high), slab);
  if (f.from === 'seat') return Manifold.difference(prism(f, low, to), slab);
  return prism(f, from, to);
}

/// Profile (y, z) along x or (x, z) along y.
function crossing(f) {
  const [xl, yl, , xh, yh] = part.box, along = f.along === 'x' ? [xl, xh] : [yl, yh];
  const from = typeof f.from === 'number' ? f.from : along[0] - beyond;
  const to = typeof f.to === 'number' ? f.to : along[1] + beyond;
  const m = f.along === 'x' ? [0, 1, 0, 0, 0, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0, 1] : [1, 0, 0, 0, 0, 0, 1, 0, 0, 1, 0, 0, 0, 0, 0, 1];
  const body = prism(f, from, to);
  return body.transform(m);
}

function tree() {
  const slab = seatSlab(low - beyond);
  // Features act in their order: a run of additions, then a run of cuts, and so on.
  let body = null;
  for (let i = 0; i < part.features.length;) {
    const effect = part.features[i].effect, run = [];
    for (; i < part.features.length && part.features[i].effect === effect; ++i)
      run.push(part.features[i].along === 'z' ? upright(part.features[i], slab) : crossing(part.features[i]));
    const all = run.length > 1 ? Manifold.union(run) : run[0];
    if (!body) body = all;
    else body = effect === 'add' ? Manifold.union(body, all) : Manifold.difference(body, all);
  }
  return body;
}

function fromStl(name) {
  const data = fs.readFileSync(name), view = new DataView(data.buffer, data.byteOffset, data.byteLength);
  const ids = new Map(), at = [], t = [];
  for (let f = 0; f < view.getUint32(80, true); ++f)
    for (let v = 0; v < 3; ++v) {
      const p = [0, 4, 8].map(k => view.getFloat32(84 + 50 * f + 12 + 12 * v + k, true)), key = p.join(' ');
      if (!ids.has(key)) {
        ids.set(key, ids.size);
        at.push(...p);
      }
      t.push(ids.get(key));
    }
  return new Manifold(new Mesh({numProp: 3, vertProperties: new Float32Array(at), triVerts: new Uint32Array(t)}));
}

const times = Number(rest.at(-1)), taken = [];
const direct = what === 'cut' ? fromStl(rest[0]) : null;
if (direct) direct.numTri();
let volume = 0, triangles = 0;
for (let i = 0; i < times; ++i) {
  const began = performance.now();
  const body = direct ? Manifold.difference(direct, Manifold.union(part.features.filter(f => f.along !== 'z').map(crossing))) : tree();
  triangles = body.numTri();
  taken.push(performance.now() - began);
  volume = body.volume();
  body.delete();
}
taken.sort((a, b) => a - b);
console.log(JSON.stringify({ms: taken[taken.length >> 1], triangles, volume_mm3: volume, wanted_mm3: part.volume_mm3}));
