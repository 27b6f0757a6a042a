// The big view: the machine or one part, with its controls. Two ways to paint it: WebGL by three.js, or our own renderer.
const css = name => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const coloursNow = () => ({lit: css("--lit"), cut: css("--cut"), line: css("--edge"), faded: css("--faded")});

/// WebGL where the browser has it; throws nothing: null where it has not.
function glPainter(canvas) {
  if (typeof THREE === "undefined") return null;
  const wants = {alpha: true, antialias: true, preserveDrawingBuffer: true};
  let context = null, renderer = null;
  try {
    context = canvas.getContext("webgl", wants);
    if (!context) return null;
    renderer = new THREE.WebGLRenderer({canvas, context, ...wants});
  } catch (e) {
    return null;
  }
  renderer.setClearColor(0, 0);
  renderer.localClippingEnabled = true;
  const camera = new THREE.OrthographicCamera(-1, 1, 1, -1, -5000, 5000);
  const plane = new THREE.Plane(), clips = [plane];
  const kept = new Map();  // buffers by shape
  const buffersOf = shape => {
    if (kept.has(shape)) return kept.get(shape);
    const f = shape.facets, p = new Float32Array(3 * f.length), n = new Float32Array(3 * f.length);
    for (let i = 0; i < f.length; ++i)
      for (let k = 0; k < 3; ++k) p[3 * i + k] = shape.points[3 * f[i] + k], n[3 * i + k] = shape.normals[3 * Math.floor(i / 3) + k];
    const faces = new THREE.BufferGeometry();
    faces.setAttribute("position", new THREE.BufferAttribute(p, 3));
    faces.setAttribute("normal", new THREE.BufferAttribute(n, 3));
    const lines = new THREE.BufferGeometry();
    lines.setAttribute("position", new THREE.BufferAttribute(shape.points, 3));
    lines.setIndex(new THREE.BufferAttribute(linesOf(shape), 1));
    const made = {faces, lines, p, n, lit: new Map()};
    kept.set(shape, made);
    return made;
  };
  const litFaces = (shape, test, key) => {
    const b = buffersOf(shape);
    if (b.lit.has(key)) return b.lit.get(key);
    const p = [], n = [];
    for (let i = 0; 3 * i < shape.facets.length; ++i)
      if (test(shape.owners ? shape.owners[i] : 0, i)) p.push(...b.p.subarray(9 * i, 9 * i + 9)), n.push(...b.n.subarray(9 * i, 9 * i + 9));
    const g = new THREE.BufferGeometry();
    g.setAttribute("position", new THREE.BufferAttribute(Float32Array.from(p), 3));
    g.setAttribute("normal", new THREE.BufferAttribute(Float32Array.from(n), 3));
    b.lit.set(key, g);
    return g;
  };
  return {
    name: "webgl",
    /// Gives back what belongs to shapes that are no longer shown.
    forget(shapes) {
      for (const [shape, b] of kept) {
        if (shapes.has(shape)) continue;
        for (const g of [b.faces, b.lines, ...b.lit.values()]) g.dispose();
        kept.delete(shape);
      }
    },
    draw(width, height, items, view, look) {
      renderer.setSize(width, height, false);
      const {r, u, d} = basisOf(view), s = view.scale;
      camera.left = -width / 2 / s, camera.right = width / 2 / s, camera.top = height / 2 / s, camera.bottom = -height / 2 / s;
      camera.position.set(...view.target);
      camera.up.set(...u);
      camera.lookAt(view.target[0] - d[0], view.target[1] - d[1], view.target[2] - d[2]);
      camera.updateProjectionMatrix();
      const scene = new THREE.Scene(), sun = new THREE.DirectionalLight(0xffffff, 0.5);
      sun.position.set(...[0, 1, 2].map(k => 0.35 * u[k] - 0.3 * r[k] + 0.88 * d[k]));
      scene.add(new THREE.AmbientLight(0xffffff, 0.58), sun);
      const clipping = look.section ? clips : null;
      if (look.section) {
        const sign = look.section.flip ? -1 : 1, normal = [0, 0, 0];
        normal[look.section.axis] = -sign;
        plane.normal.set(...normal);
        plane.constant = sign * look.section.at;
      }
      const materials = new Map(), c = look.colours;
      const material = (colour, marked) => {
        const key = colour + marked;
        if (!materials.has(key))
          materials.set(key, new THREE.MeshLambertMaterial({color: colour, clippingPlanes: clipping, polygonOffset: true,
                                                            polygonOffsetFactor: marked ? 0 : 1, polygonOffsetUnits: marked ? 0 : 1}));
        return materials.get(key);
      };
      const ghost = new THREE.MeshBasicMaterial({color: c.lit, transparent: true, opacity: 0.35, depthTest: false, depthWrite: false, side: THREE.DoubleSide, clippingPlanes: clipping});
      const inside = new THREE.MeshBasicMaterial({color: c.cut, side: THREE.BackSide, clippingPlanes: clipping});
      const ink = new THREE.LineBasicMaterial({color: c.line, clippingPlanes: clipping});
      const put = (object, item) => {
        object.matrixAutoUpdate = false;
        object.matrix.set(...item.matrix);
        scene.add(object);
      };
      for (const item of items) {
        const b = buffersOf(item.shape);
        put(new THREE.Mesh(b.faces, material(look.faded && look.faded(item) ? c.faded : item.tint, 0)), item);
        if (look.section) put(new THREE.Mesh(b.faces, inside), item);
        put(new THREE.LineSegments(b.lines, ink), item);
        if (!look.litKey(item)) continue;
        const faces = litFaces(item.shape, (o, i) => look.lit(item, o, i), look.litKey(item));
        put(new THREE.Mesh(faces, ghost), item);
        put(new THREE.Mesh(faces, material(c.lit, 1)), item);
      }
      renderer.render(scene, camera);
      for (const m of materials.values()) m.dispose();
      inside.dispose(), ghost.dispose(), ink.dispose();
    },
  };
}

function paperPainter(canvas) {
  const context = canvas.getContext("2d");
  return {
    name: "paper",
    forget() {},
    draw(width, height, items, view, look) {
      canvas.width = width, canvas.height = height;
      paint(context, width, height, items, view, look);
    },
  };
}

const standardViews = {
  corner: [-0.6, 0.55], above: [0, Math.PI / 2], below: [0, -Math.PI / 2], front: [0, 0], rear: [Math.PI, 0], right: [Math.PI / 2, 0], left: [-Math.PI / 2, 0]};

class View {
  constructor() {
    this.canvas = document.getElementById("view");
    this.painter = glPainter(this.canvas) || paperPainter(this.canvas);
    document.documentElement.dataset.painter = this.painter.name;
    this.camera = {yaw: -0.6, pitch: 0.55, scale: 1, target: [0, 0, 0]};
    this.subject = "";  // a part's id, or empty for the machine
    this.apart = 0.5;  // whole, the bed would hide all that matters
    this.section = {axis: -1, share: 0.5, flip: false, away: false};
    this.hidden = new Set();
    this.marked = null;  // { part, key, lit(owner, facet), where }, or { of(item), key, lit, spots } in the machine
    this.waiting = false;
    this.onPick = null;
    this.bind();
    this.canvas.addEventListener("webglcontextlost", e => (e.preventDefault(), this.fallBack()));
  }

  /// A canvas that once had WebGL has no 2-D context: it takes a new one.
  fallBack() {
    const fresh = this.canvas.cloneNode(false);
    this.canvas.replaceWith(fresh);
    this.canvas = fresh;
    this.painter = paperPainter(fresh);
    document.documentElement.dataset.painter = "paper";
    this.bind();
    this.draw();
  }

  items() {
    if (this.subject) {
      const part = partById(this.subject);
      return [{name: part.id, kind: "part", part, layer: 0, tint: part.tint, matrix: identity, shape: part.shape}];
    }
    return machineItems(this.apart, i => i.kind === "part" || !this.hidden.has(i.kind === "stop" || i.kind === "carriage" ? "rail" : i.kind));
  }

  /// After takeSet: what was marked is of the set before.
  changed() {
    this.marked = null;
    if (this.subject && !partById(this.subject)) this.subject = "";
    this.painter.forget(new Set([...bodyItems, ...parts].map(i => i.shape)));
    this.draw();
  }

  size() {
    const ratio = Math.min(2, window.devicePixelRatio || 1), box = this.canvas.getBoundingClientRect();
    const wide = Math.max(50, Math.round(box.width)), high = Math.max(50, Math.round(box.height));
    return {ratio, wide, high, width: Math.round(wide * ratio), height: Math.round(high * ratio)};
  }

  pixelCamera(ratio) {
    return {...this.camera, scale: this.camera.scale * ratio};
  }

  cut(items) {
    if (this.section.axis < 0) return null;
    const box = boxOf(items), a = this.section.axis;
    return {axis: a, flip: this.section.flip !== this.section.away, at: box.low[a] + this.section.share * (box.high[a] - box.low[a])};
  }

  fit() {
    const {wide, high} = this.size();
    this.camera = fitted(this.items(), this.camera, wide, high);
    this.draw();
  }

  /// Opens the half that stands between the section and the one who looks.
  openTowards() {
    if (this.section.axis >= 0) this.section.away = basisOf(this.camera).d[this.section.axis] < 0;
  }

  /// Turns so far that a face with this normal can be seen.
  turnTo(normal) {
    const {d} = basisOf(this.camera);
    if (normal[0] * d[0] + normal[1] * d[1] + normal[2] * d[2] > 0.25) return;
    if (Math.abs(normal[2]) > 0.7) this.camera.pitch = normal[2] > 0 ? 0.7 : -0.7;
    else [this.camera.yaw, this.camera.pitch] = [Math.atan2(normal[0], -normal[1]) - 0.4, 0.45];
    this.openTowards();
  }

  look(name) {
    [this.camera.yaw, this.camera.pitch] = standardViews[name];
    this.openTowards();
    this.fit();
  }

  show(subject) {
    this.subject = subject;
    this.fit();
  }

  draw() {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => (this.waiting = false, this.drawNow()));
  }

  drawNow() {
    const {ratio, wide, high, width, height} = this.size(), items = this.items(), marked = this.marked;
    const mine = item => marked && marked.of ? marked.of(item) : marked && item.part && item.part.id === marked.part && (!marked.where || !item.where || item.where === marked.where);
    const section = this.cut(items);
    this.painter.draw(width, height, items, this.pixelCamera(ratio), {
      section, colours: coloursNow(),
      lit: (item, owner, facet) => mine(item) && marked.lit(owner, facet),
      litKey: item => (mine(item) ? marked.key : "")});
    this.canvas.dataset.mmPerPixel = String(1 / (this.camera.scale * ratio));
    this.canvas.dataset.subject = this.subject || "machine";
    this.scaleBar(wide);
    this.ring(items, mine, wide, high);
    this.rings(items, wide, high);
    this.compass();
    if (section) document.getElementById("cut-at").textContent = ["x", "y", "z"][section.axis] + " = " + section.at.toFixed(1) + " mm";
    else document.getElementById("cut-at").textContent = "";
    if (this.onDraw) this.onDraw();
  }

  scaleBar(wide) {
    const most = wide / 4 / this.camera.scale, unit = 10 ** Math.floor(Math.log10(most)), f = most / unit >= 5 ? 5 : most / unit >= 2 ? 2 : 1;
    document.getElementById("scale-bar").style.width = f * unit * this.camera.scale + "px";
    document.getElementById("scale-text").textContent = +(f * unit).toPrecision(2) + " mm";
  }

  /// A ring round what is marked, for whoever cannot tell it by its colour.
  ring(items, mine, wide, high) {
    const low = [1e9, 1e9], top = [-1e9, -1e9], item = items.find(mine), spot = document.getElementById("spot");
    if (item && this.marked.key !== "all") {
      const q = projected(item, screenMatrix(this.camera, wide, high, item.matrix)), f = item.shape.facets;
      for (let i = 0; i < f.length; ++i)
        if (this.marked.lit(item.shape.owners[Math.floor(i / 3)], Math.floor(i / 3)))
          for (let k = 0; k < 2; ++k) low[k] = Math.min(low[k], q[3 * f[i] + k]), top[k] = Math.max(top[k], q[3 * f[i] + k]);
    }
    const size = Math.max(26, 14 + Math.hypot(top[0] - low[0], top[1] - low[1]));
    spot.style.display = low[0] < 1e8 && size < high ? "block" : "none";
    spot.style.width = spot.style.height = size + "px";
    spot.style.left = (low[0] + top[0]) / 2 + "px", spot.style.top = (low[1] + top[1]) / 2 + "px";
  }

  /// A ring round each marked spot of the machine; spots go with the body they are on.
  rings(items, wide, high) {
    const stage = this.canvas.parentElement, spots = (this.marked && this.marked.spots) || [], kept = [...stage.querySelectorAll(".spot.of-many")];
    if (kept.length !== spots.length) for (const old of kept.splice(0)) old.remove();
    spots.forEach((s, i) => {
      const ring = kept[i] || stage.appendChild(H("span", {class: "spot of-many" + (spots.length > 8 ? " small-ring" : ""), "aria-hidden": "true"}));
      const item = items.find(one => one.name === s.on), [x, y] = projected({shape: {points: s.at}}, screenMatrix(this.camera, wide, high, item ? item.matrix : identity));
      ring.style.display = x > 0 && y > 0 && x < wide && y < high ? "block" : "none";
      ring.style.left = x + "px", ring.style.top = y + "px";
    });
  }

  compass() {
    const {r, u} = basisOf(this.camera), svg = document.getElementById("compass");
    for (const [axis, id] of [[0, "x"], [1, "y"], [2, "z"]]) {
      const x = 26 * r[axis], y = -26 * u[axis], g = svg.querySelector("." + id);
      g.querySelector("line").setAttribute("x2", x.toFixed(1)), g.querySelector("line").setAttribute("y2", y.toFixed(1));
      g.querySelector("text").setAttribute("x", (x * 1.35).toFixed(1)), g.querySelector("text").setAttribute("y", (y * 1.35 + 4).toFixed(1));
    }
  }

  turn(yaw, pitch) {
    this.camera.yaw += yaw;
    this.camera.pitch = Math.max(-Math.PI / 2, Math.min(Math.PI / 2, this.camera.pitch + pitch));
    this.draw();
  }

  zoom(factor) {
    this.camera.scale = Math.max(0.05, Math.min(200, this.camera.scale * factor));
    this.draw();
  }

  push(dx, dy) {
    const {r, u} = basisOf(this.camera), s = this.camera.scale;
    this.camera.target = this.camera.target.map((t, k) => t - (dx * r[k] - dy * u[k]) / s);
    this.draw();
  }

  pickAt(x, y) {
    const {ratio, width, height} = this.size(), items = this.items();
    const hit = picked(items, this.pixelCamera(ratio), width, height, this.cut(items), x * ratio, y * ratio);
    if (this.onPick) this.onPick(hit);
  }

  bind() {
    const canvas = this.canvas, down = new Map();
    let travelled = 0, spread = 0;
    const place = e => {
      const box = canvas.getBoundingClientRect();
      return [e.clientX - box.left, e.clientY - box.top];
    };
    canvas.addEventListener("pointerdown", e => {
      canvas.setPointerCapture(e.pointerId);
      down.set(e.pointerId, place(e));
      travelled = 0, spread = 0;
    });
    canvas.addEventListener("pointermove", e => {
      if (!down.has(e.pointerId)) return;
      const [x, y] = place(e), [px, py] = down.get(e.pointerId), dx = x - px, dy = y - py;
      down.set(e.pointerId, [x, y]);
      travelled += Math.abs(dx) + Math.abs(dy);
      if (down.size === 2) {
        const [p, q] = [...down.values()], now = Math.hypot(p[0] - q[0], p[1] - q[1]);
        if (spread) this.zoom(now / spread);
        spread = now;
        this.push(dx / 2, dy / 2);
      } else if (e.shiftKey || e.buttons & 6) this.push(dx, dy);
      else if (travelled > 3) this.turn(-dx * 0.01, dy * 0.01);
    });
    const up = e => {
      if (down.has(e.pointerId) && down.size === 1 && travelled <= 3 && e.type === "pointerup") this.pickAt(...place(e));
      down.delete(e.pointerId);
      spread = 0;
    };
    canvas.addEventListener("pointerup", up);
    canvas.addEventListener("pointercancel", up);
    canvas.addEventListener("contextmenu", e => e.preventDefault());
    canvas.addEventListener("wheel", e => {
      // The page must still scroll past the view: turning the wheel zooms only where the view has the focus.
      if (document.activeElement !== canvas) return;
      e.preventDefault();
      this.zoom(e.deltaY < 0 ? 1.12 : 1 / 1.12);
    }, {passive: false});
    canvas.addEventListener("keydown", e => {
      const step = 0.1, far = 24;
      const keys = {
        ArrowLeft: () => (e.shiftKey ? this.push(-far, 0) : this.turn(step, 0)),
        ArrowRight: () => (e.shiftKey ? this.push(far, 0) : this.turn(-step, 0)),
        ArrowUp: () => (e.shiftKey ? this.push(0, -far) : this.turn(0, step)),
        ArrowDown: () => (e.shiftKey ? this.push(0, far) : this.turn(0, -step)),
        "+": () => this.zoom(1.2), "=": () => this.zoom(1.2), "-": () => this.zoom(1 / 1.2), "0": () => this.fit(),
        Enter: () => this.pickAt(this.size().wide / 2, this.size().high / 2)};
      if (!keys[e.key] || e.ctrlKey || e.altKey || e.metaKey) return;
      e.preventDefault();
      keys[e.key]();
    });
  }
}
