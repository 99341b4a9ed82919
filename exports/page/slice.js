// The cut faces: every closed mesh that the cutting plane passes through is sliced, so a cut piece looks solid and can be picked.

// piece: {corners: Float64Array of world x y z, faces: indices}. Returns {triangles: [x y z ...], outline: [x y z pairs ...]}.
function slicePiece(piece, axis, at) {
  const { corners, faces } = piece;
  const u = (axis + 1) % 3, v = (axis + 2) % 3;
  // a corner that lies in the plane counts as above it, so that every edge is crossed or not and the loops always close
  const above = (i) => corners[3 * i + axis] >= at;
  const next = new Map(), place = new Map();
  const crossing = (i, j) => {
    const key = i < j ? i * 1e6 + j : j * 1e6 + i;
    if (!place.has(key)) {
      const a = corners[3 * i + axis], b = corners[3 * j + axis], t = (at - a) / (b - a);
      place.set(key, [u, v].map((k) => corners[3 * i + k] + t * (corners[3 * j + k] - corners[3 * i + k])));
    }
    return key;
  };
  for (let f = 0; f < faces.length; f += 3) {
    const ring = [faces[f], faces[f + 1], faces[f + 2]];
    let from = null, to = null;
    for (let k = 0; k < 3; k++) {
      const i = ring[k], j = ring[(k + 1) % 3];
      if (above(i) && !above(j)) from = crossing(i, j);
      else if (!above(i) && above(j)) to = crossing(i, j);
    }
    if (from !== null) next.set(from, to);
  }
  const loops = [];
  while (next.size) {
    const loop = [];
    let key = next.keys().next().value;
    while (next.has(key)) { const follow = next.get(key); next.delete(key); loop.push(place.get(key)); key = follow; }
    const kept = loop.filter((p, i) => { const q = loop[(i + 1) % loop.length]; return Math.hypot(p[0] - q[0], p[1] - q[1]) > 1e-6; });
    if (kept.length > 2 && Math.abs(loopArea(kept)) > 1e-7) loops.push(kept);
  }
  const lift = (p) => { const out = [0, 0, 0]; out[axis] = at; out[u] = p[0]; out[v] = p[1]; return out; };
  const triangles = [], outline = [];
  for (const loop of loops) loop.forEach((p, i) => outline.push(...lift(p), ...lift(loop[(i + 1) % loop.length])));
  for (const [outer, holes] of nestLoops(loops)) {
    const flat = [outer, ...holes].map((l) => l.map((p) => new THREE.Vector2(p[0], p[1])));
    const points = flat.flat();
    for (const t of THREE.ShapeUtils.triangulateShape(flat[0], flat.slice(1))) for (const i of t) triangles.push(...lift([points[i].x, points[i].y]));
  }
  return { triangles, outline };
}

function loopArea(loop) {
  let twice = 0;
  loop.forEach((p, i) => { const q = loop[(i + 1) % loop.length]; twice += p[0] * q[1] - q[0] * p[1]; });
  return twice / 2;
}

// Loops of one piece: those that run one way bound wood, those that run the other way are holes in the loop around them.
function nestLoops(loops) {
  if (loops.length < 2) return loops.map((l) => [l, []]);
  const biggest = loops.reduce((a, b) => (Math.abs(loopArea(b)) > Math.abs(loopArea(a)) ? b : a));
  const way = Math.sign(loopArea(biggest));
  const outer = loops.filter((l) => Math.sign(loopArea(l)) === way).map((l) => [l, []]);
  for (const hole of loops.filter((l) => Math.sign(loopArea(l)) !== way)) {
    const home = outer.find(([l]) => insideLoop(hole[0], l));
    if (home) home[1].push(hole);
  }
  return outer;
}

function insideLoop(p, loop) {
  let inside = false;
  for (let i = 0, j = loop.length - 1; i < loop.length; j = i++) {
    const a = loop[i], b = loop[j];
    if ((a[1] > p[1]) !== (b[1] > p[1]) && p[0] < ((b[0] - a[0]) * (p[1] - a[1])) / (b[1] - a[1]) + a[0]) inside = !inside;
  }
  return inside;
}
