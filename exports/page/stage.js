// The stage: one mesh and one set of edges a role (so a large deck is a few dozen draw calls), drawn only when something changed.

class Stage {
  constructor(canvas) {
    this.canvas = canvas;
    this.renderer = new THREE.WebGLRenderer({ canvas, antialias: true, preserveDrawingBuffer: true });
    this.renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
    this.renderer.setClearColor(0xf1eee6);
    this.scene = new THREE.Scene();
    this.camera = new THREE.PerspectiveCamera(32, 1, 1, 10000);
    this.camera.up.set(0, 0, 1);
    this.scene.add(new THREE.HemisphereLight(0xffffff, 0xb9b2a4, 2.1));
    this.sun = new THREE.DirectionalLight(0xfff4e2, 1.5);
    this.scene.add(this.sun, this.sun.target);
    this.controls = new THREE.OrbitControls(this.camera, canvas);
    this.controls.zoomToCursor = true;
    this.controls.addEventListener('change', () => this.draw());
    this.layers = new Map();
    this.top = [];
    this.plane = new THREE.Plane();
    new ResizeObserver(() => this.resize()).observe(canvas.parentElement);
  }

  load(model) {
    for (const group of this.layers.values()) this.drop(group);
    if (this.ground) this.drop(this.ground);
    this.layers.clear();
    this.model = model;
    const roles = new Map();
    for (const p of model.pieces) { if (!roles.has(p.role)) roles.set(p.role, []); roles.get(p.role).push(p); }
    for (const [role, pieces] of roles) {
      const group = new THREE.Group();
      group.add(new THREE.Mesh(solidGeometry(pieces), new THREE.MeshLambertMaterial({ vertexColors: true, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 })));
      group.add(new THREE.LineSegments(edgeGeometry(pieces), new THREE.LineBasicMaterial({ color: 0x2c2a27, transparent: true, opacity: 0.42 })));
      this.layers.set(role, group);
      this.scene.add(group);
    }
    this.ground = model.data.ground ? groundMesh(model.data.ground) : null;
    if (this.ground) this.scene.add(this.ground);
    this.mark([]);
    this.refresh();
  }

  drop(thing) {
    this.scene.remove(thing);
    thing.traverse((n) => { n.geometry?.dispose(); n.material?.dispose(); });
  }

  // Show what `model.hidden` and `model.cut` say.
  refresh() {
    const { model } = this, cut = model.cut;
    for (const [role, group] of this.layers) group.visible = !model.hidden.has(role);
    if (this.ground) this.ground.visible = !model.hidden.has('ground');
    if (cut) {
      const normal = new THREE.Vector3().setComponent(cut.axis, cut.flip ? 1 : -1);
      this.plane.set(normal, cut.flip ? -cut.at : cut.at);
    }
    this.renderer.clippingPlanes = cut ? [this.plane] : [];
    model.slice();
    if (this.capGroup) this.drop(this.capGroup);
    this.capGroup = null;
    if (model.caps.length) {
      // a hair off the plane towards the viewer's side of it, or the clipping would eat the faces that lie in it
      const nudge = new THREE.Vector3().setComponent(cut.axis, cut.flip ? 1e-3 : -1e-3);
      const faces = [], shades = [], lines = [];
      for (const { piece, triangles, outline } of model.caps) {
        const [r, g, b] = tint(piece.colour, 0.78);
        for (let i = 0; i < triangles.length; i += 3) shades.push(r, g, b);
        faces.push(...triangles);
        lines.push(...outline);
      }
      this.capGroup = new THREE.Group();
      this.capGroup.add(new THREE.Mesh(buffer(faces, shades), new THREE.MeshBasicMaterial({ vertexColors: true, side: THREE.DoubleSide, polygonOffset: true, polygonOffsetFactor: -1, polygonOffsetUnits: -1 })));
      this.capGroup.add(new THREE.LineSegments(buffer(lines), new THREE.LineBasicMaterial({ color: 0x1d1b19 })));
      this.capGroup.position.copy(nudge);
      this.scene.add(this.capGroup);
    }
    this.draw();
  }

  // Pieces to stand out: seen through whatever hides them, so that a joist under the boards is found at once.
  mark(pieces) {
    this.top.forEach((t) => this.drop(t));
    this.top = [];
    if (pieces.length) {
      const solid = solidGeometry(pieces, [0.05, 0.32, 0.36]), edges = edgeGeometry(pieces);
      const through = new THREE.Mesh(solid, new THREE.MeshBasicMaterial({ vertexColors: true, transparent: true, opacity: 0.3, depthTest: false, depthWrite: false }));
      const face = new THREE.Mesh(solid, new THREE.MeshLambertMaterial({ vertexColors: true, polygonOffset: true, polygonOffsetFactor: -1, polygonOffsetUnits: -2 }));
      const lines = new THREE.LineSegments(edges, new THREE.LineBasicMaterial({ color: 0x06363c, transparent: true, opacity: 0.9, depthTest: false }));
      this.top = [face, through, lines];
      this.top.forEach((t, i) => { t.renderOrder = 10 + i; this.scene.add(t); });
    }
    this.draw();
  }

  tape(points) {
    if (this.tapeGroup) this.drop(this.tapeGroup);
    this.tapeGroup = null;
    if (points.length) {
      this.tapeGroup = new THREE.Group();
      this.tapeGroup.add(new THREE.Points(buffer(points.flat()), new THREE.PointsMaterial({ color: 0x9c4a23, size: 11, sizeAttenuation: false, depthTest: false, transparent: true })));
      if (points.length > 1) this.tapeGroup.add(new THREE.LineSegments(buffer(points.flat()), new THREE.LineBasicMaterial({ color: 0x9c4a23, depthTest: false, transparent: true })));
      this.tapeGroup.children.forEach((c) => { c.renderOrder = 30; });
      this.scene.add(this.tapeGroup);
    }
    this.draw();
  }

  // Look at some corners (flat x y z) from a direction (vector towards the eye); glide there unless told not to.
  look(corners, from, glide = true) {
    const back = new THREE.Vector3(...from).normalize();
    const { centre, away } = this.fit(corners, back);
    const eye = back.clone().multiplyScalar(away).add(centre);
    const calm = window.matchMedia('(prefers-reduced-motion: reduce)').matches;
    const fromEye = this.camera.position.clone(), fromAim = this.controls.target.clone(), began = performance.now();
    const span = glide && !calm ? 450 : 0, turn = ++this.flight || (this.flight = 1);
    const step = (now) => {
      if (turn !== this.flight) return;
      const t = span ? Math.min(1, Math.max(0, (now - began) / span)) : 1, s = t * t * (3 - 2 * t);
      this.camera.position.lerpVectors(fromEye, eye, s);
      this.controls.target.lerpVectors(fromAim, centre, s);
      this.controls.update();
      this.draw();
      if (t < 1) requestAnimationFrame(step);
    };
    span ? requestAnimationFrame(step) : step(began);
  }

  // Where to aim and how far back along `back` to stand for all the corners to be in view, with a little air.
  fit(corners, back) {
    const right = new THREE.Vector3(0, 0, 1).cross(back);
    if (right.lengthSq() < 1e-9) right.set(1, 0, 0);
    right.normalize();
    const up = back.clone().cross(right), tall = Math.tan(THREE.MathUtils.degToRad(this.camera.fov / 2)), wide = tall * this.camera.aspect;
    const along = (axis) => { const out = []; for (let i = 0; i < corners.length; i += 3) out.push(corners[i] * axis.x + corners[i + 1] * axis.y + corners[i + 2] * axis.z); return out; };
    const far = along(back);
    const middle = far.reduce((a, b) => a + b, 0) / far.length;
    // for one axis of the picture the eye sits where the two outermost lines of sight meet
    const meet = (values, spread) => {
      let low = Infinity, high = -Infinity;
      values.forEach((v, i) => { low = Math.min(low, v - spread * (far[i] - middle)); high = Math.max(high, v + spread * (far[i] - middle)); });
      return { at: (low + high) / 2, away: (high - low) / 2 / spread };
    };
    const [u, v] = [meet(along(right), wide), meet(along(up), tall)];
    const centre = right.multiplyScalar(u.at).addScaledVector(up, v.at).addScaledVector(back, middle);
    return { centre, away: Math.max(24, 1.1 * Math.max(u.away, v.away)) };
  }

  ray(x, y) {
    const at = new THREE.Vector3((2 * x) / this.canvas.clientWidth - 1, 1 - (2 * y) / this.canvas.clientHeight, 0.5).unproject(this.camera);
    const eye = this.camera.position;
    return [eye.toArray(), at.sub(eye).normalize().toArray()];
  }

  screen(point) {
    const v = new THREE.Vector3(...point).project(this.camera);
    return [((v.x + 1) / 2) * this.canvas.clientWidth, ((1 - v.y) / 2) * this.canvas.clientHeight, v.z];
  }

  // The corner nearest to a screen point that is shown, kept by the cut and not behind anything: a world point or null.
  corner(x, y, within) {
    const found = [];
    const offer = (p) => {
      if (!this.model.kept(p)) return;
      const [sx, sy, depth] = this.screen(p), off = Math.hypot(sx - x, sy - y);
      if (off <= within && depth < 1) found.push({ p, off });
    };
    for (const piece of this.model.pieces) {
      if (!this.model.shown(piece)) continue;
      for (let i = 0; i < piece.corners.length; i += 3) offer([piece.corners[i], piece.corners[i + 1], piece.corners[i + 2]]);
    }
    for (const { outline } of this.model.caps) for (let i = 0; i < outline.length; i += 3) offer(outline.slice(i, i + 3));
    const eye = this.camera.position.toArray();
    found.sort((a, b) => a.off - b.off);
    for (const { p } of found.slice(0, 400)) {
      const way = p.map((c, k) => c - eye[k]), far = Math.hypot(...way);
      const hit = this.model.meet(eye, way.map((c) => c / far));
      if (!hit || hit.distance > far - 0.06) return p;
    }
    return null;
  }

  resize() {
    const { clientWidth: w, clientHeight: h } = this.canvas.parentElement;
    if (!w || !h) return;
    this.renderer.setSize(w, h, false);
    this.camera.aspect = w / h;
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  draw() {
    if (this.waiting || !this.model) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      const size = Math.hypot(...[0, 1, 2].map((k) => this.model.high[k] - this.model.low[k]));
      const away = this.camera.position.distanceTo(this.controls.target);
      this.camera.near = Math.max(0.5, away / 200);
      this.camera.far = away + 4 * size + 1000;
      this.camera.updateProjectionMatrix();
      this.sun.position.copy(this.camera.position).add(new THREE.Vector3(-0.5, 0.3, 0.9).multiplyScalar(away));
      this.sun.target.position.copy(this.controls.target);
      this.renderer.render(this.scene, this.camera);
    });
  }
}

function tint(rgb, by = 1) {
  const c = new THREE.Color().setRGB(rgb[0] / 255, rgb[1] / 255, rgb[2] / 255, 'srgb').multiplyScalar(by);
  return [c.r, c.g, c.b];
}

function buffer(points, shades) {
  const g = new THREE.BufferGeometry();
  g.setAttribute('position', new THREE.BufferAttribute(new Float32Array(points), 3));
  if (shades) g.setAttribute('color', new THREE.BufferAttribute(new Float32Array(shades), 3));
  return g;
}

function solidGeometry(pieces, shade = null) {
  const count = pieces.reduce((n, p) => n + p.faces.length, 0);
  const at = new Float32Array(3 * count), colours = new Float32Array(3 * count);
  let n = 0;
  for (const p of pieces) {
    const c = shade || tint(p.colour);
    for (const i of p.faces) {
      for (let k = 0; k < 3; k++) { at[n + k] = p.corners[3 * i + k]; colours[n + k] = c[k]; }
      n += 3;
    }
  }
  const g = new THREE.BufferGeometry();
  g.setAttribute('position', new THREE.BufferAttribute(at, 3));
  g.setAttribute('color', new THREE.BufferAttribute(colours, 3));
  g.computeVertexNormals(); // corners are not shared, so every face keeps its own normal
  return g;
}

function edgeGeometry(pieces) {
  const points = new Float32Array(3 * pieces.reduce((n, p) => n + p.edges.length, 0));
  let n = 0;
  for (const p of pieces) for (const i of p.edges) { for (let k = 0; k < 3; k++) points[n + k] = p.corners[3 * i + k]; n += 3; }
  const g = new THREE.BufferGeometry();
  g.setAttribute('position', new THREE.BufferAttribute(points, 3));
  return g;
}

function groundMesh(c) {
  const g = buffer([...c[0], ...c[1], ...c[2], ...c[0], ...c[2], ...c[3]]);
  const material = new THREE.MeshBasicMaterial({ color: 0x8d9477, transparent: true, opacity: 0.32, side: THREE.DoubleSide, depthWrite: false });
  return new THREE.Group().add(new THREE.Mesh(g, material));
}
