// Reads a binary STL, welds equal corners, and asks the manifold library what it is. One JSON verdict on standard output.
import fs from 'node:fs';
import Module from 'manifold-3d';

const library = await Module();
library.setup();

const data = fs.readFileSync(process.argv[2]);
const view = new DataView(data.buffer, data.byteOffset, data.byteLength);
const count = view.getUint32(80, true);
const ids = new Map(), corners = [], triangles = [];
for (let f = 0; f < count; ++f) {
  for (let v = 0; v < 3; ++v) {
    const at = 84 + 50 * f + 12 + 12 * v;
    const p = [0, 4, 8].map(k => view.getFloat32(at + k, true));
    const key = p.join(' ');
    if (!ids.has(key)) {
      ids.set(key, ids.size);
      corners.push(...p);
    }
    triangles.push(ids.get(key));
  }
}

const verdict = {closed: false, volume_mm3: 0, box_mm: [0, 0, 0], triangles: count, objections: []};
try {
  const mesh = new library.Mesh({numProp: 3, vertProperties: new Float32Array(corners), triVerts: new Uint32Array(triangles)});
  const solid = new library.Manifold(mesh);
  const status = solid.status();
  const name = typeof status === 'string' ? status : status.value === 0 ? 'NoError' : `status ${status.value}`;
  if (name !== 'NoError') verdict.objections.push(`not a manifold: ${name}`);
  const box = solid.boundingBox();
  verdict.closed = name === 'NoError';
  verdict.volume_mm3 = solid.volume();
  verdict.box_mm = box.max.map((high, i) => high - box.min[i]);
  verdict.triangles = solid.numTri();
  verdict.genus = solid.genus();
  verdict.pieces = solid.decompose().length;
} catch (error) {
  verdict.objections.push(`not a manifold: ${error.message ?? error}`);
}
console.log(JSON.stringify(verdict));
