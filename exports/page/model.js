// The model as the page holds it: world corners of every piece, what is shown, and what a line of sight meets.

class Model {
  constructor(data) {
    this.data = data;
    this.pieces = data.pieces.map((p, index) => {
      const shape = data.shapes[p.shape], [ox, oy, oz, ax, ay, az, bx, by, bz] = p.place;
      const cx = ay * bz - az * by, cy = az * bx - ax * bz, cz = ax * by - ay * bx;
      const local = shape.corners, corners = new Float64Array(local.length);
      const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
      for (let i = 0; i < local.length; i += 3) {
        const [x, y, z] = [local[i], local[i + 1], local[i + 2]];
        corners[i] = ox + ax * x + bx * y + cx * z;
        corners[i + 1] = oy + ay * x + by * y + cy * z;
        corners[i + 2] = oz + az * x + bz * y + cz * z;
        for (let k = 0; k < 3; k++) { low[k] = Math.min(low[k], corners[i + k]); high[k] = Math.max(high[k], corners[i + k]); }
      }
      return { ...p, index, corners, faces: shape.faces, edges: shape.edges, low, high };
    });
    this.byId = new Map(this.pieces.map((p) => [p.id, p]));
    this.byMark = new Map();
    for (const p of this.pieces) { if (!this.byMark.has(p.mark)) this.byMark.set(p.mark, []); this.byMark.get(p.mark).push(p); }
    this.low = [0, 1, 2].map((k) => Math.min(...this.pieces.map((p) => p.low[k])));
    this.high = [0, 1, 2].map((k) => Math.max(...this.pieces.map((p) => p.high[k])));
    if (!this.pieces.length) { this.low = [0, 0, 0]; this.high = [1, 1, 1]; }
    this.hidden = new Set();
    this.cut = null; // {axis, at, flip}: what lies beyond `at` along the axis is taken away (before it, when flipped)
    this.caps = [];
  }

  allCorners() { return this.pieces.length ? this.pieces.flatMap((p) => [...p.corners]) : [0, 0, 0, 1, 1, 1]; }

  shown(piece) { return !this.hidden.has(piece.role); }

  kept(point) {
    const c = this.cut;
    return !c || (c.flip ? point[c.axis] >= c.at - 1e-6 : point[c.axis] <= c.at + 1e-6);
  }

  slice() {
    this.caps = [];
    if (!this.cut) return;
    const { axis, at } = this.cut;
    for (const piece of this.pieces) {
      if (!this.shown(piece) || piece.low[axis] >= at || piece.high[axis] < at) continue;
      const { triangles, outline } = slicePiece(piece, axis, at);
      if (triangles.length) this.caps.push({ piece, triangles, outline });
    }
  }

  // The first piece that a ray (origin, unit direction) meets, with the point: {piece, point, distance} or null.
  meet(origin, way, only = null) {
    let best = null;
    const offer = (piece, t) => {
      if (t <= 1e-6 || (best && t >= best.distance)) return;
      best = { piece, distance: t, point: [0, 1, 2].map((k) => origin[k] + t * way[k]) };
    };
    for (const piece of this.pieces) {
      if (!this.shown(piece) || (only && piece !== only) || !rayBox(origin, way, piece.low, piece.high)) continue;
      const { corners, faces } = piece;
      for (let f = 0; f < faces.length; f += 3) {
        const t = rayTriangle(origin, way, corners, 3 * faces[f], 3 * faces[f + 1], 3 * faces[f + 2]);
        if (t > 0 && this.kept([0, 1, 2].map((k) => origin[k] + t * way[k]))) offer(piece, t);
      }
    }
    for (const { piece, triangles } of this.caps) {
      if (only && piece !== only) continue;
      for (let i = 0; i < triangles.length; i += 9) offer(piece, rayTriangle(origin, way, triangles, i, i + 3, i + 6));
    }
    return best;
  }
}

function rayBox(origin, way, low, high) {
  let near = 0, far = Infinity;
  for (let k = 0; k < 3; k++) {
    if (Math.abs(way[k]) < 1e-12) { if (origin[k] < low[k] || origin[k] > high[k]) return false; continue; }
    const a = (low[k] - origin[k]) / way[k], b = (high[k] - origin[k]) / way[k];
    near = Math.max(near, Math.min(a, b));
    far = Math.min(far, Math.max(a, b));
  }
  return near <= far + 1e-9;
}

function rayTriangle(o, d, c, i, j, k) {
  const e1x = c[j] - c[i], e1y = c[j + 1] - c[i + 1], e1z = c[j + 2] - c[i + 2];
  const e2x = c[k] - c[i], e2y = c[k + 1] - c[i + 1], e2z = c[k + 2] - c[i + 2];
  const px = d[1] * e2z - d[2] * e2y, py = d[2] * e2x - d[0] * e2z, pz = d[0] * e2y - d[1] * e2x;
  const det = e1x * px + e1y * py + e1z * pz;
  if (Math.abs(det) < 1e-12) return -1;
  const tx = o[0] - c[i], ty = o[1] - c[i + 1], tz = o[2] - c[i + 2];
  const u = (tx * px + ty * py + tz * pz) / det;
  if (u < -1e-9 || u > 1 + 1e-9) return -1;
  const qx = ty * e1z - tz * e1y, qy = tz * e1x - tx * e1z, qz = tx * e1y - ty * e1x;
  const v = (d[0] * qx + d[1] * qy + d[2] * qz) / det;
  if (v < -1e-9 || u + v > 1 + 1e-9) return -1;
  return (e2x * qx + e2y * qy + e2z * qz) / det;
}
