// The outline as a plan: corners are dragged, lengths typed, stairs slid along their edge. What comes of it stands in the file or
// nowhere: the drawing follows the pointer, and then the file.

const SVG = 'http://www.w3.org/2000/svg';
const drawn = (name, set, text) => {
  const e = document.createElementNS(SVG, name);
  for (const [k, v] of Object.entries(set || {})) e.setAttribute(k, v);
  if (text) e.textContent = text;
  return e;
};

class PlanView {
  constructor(desk) {
    this.desk = desk;
    this.home = make('div', '', { id: 'plan' });
    this.svg = drawn('svg', { role: 'group', 'aria-label': 'The outline in plan. Drag a corner, or move it with the arrow keys; pick a length to type it; drag a stair along its edge.' });
    this.entry = make('input', '', { hidden: true, className: 'entry', autocomplete: 'off' });
    this.entry.setAttribute('aria-label', 'length of this edge');
    this.entry.addEventListener('keydown', (e) => {
      if (e.key === 'Enter') this.lengthTyped();
      if (e.key === 'Escape') this.entry.hidden = true;
    });
    this.entry.addEventListener('blur', () => { this.entry.hidden = true; });
    this.home.append(this.svg, this.entry);
  }

  draw() {
    if (this.dragged) return; // what is in hand is drawn when it is let go
    const plan = this.desk.form?.plan;
    this.home.hidden = !plan;
    if (!plan) return;
    this.plan = plan;
    this.points = plan.points.map((p) => [...p]);
    this.slid = plan.stairs.map((s) => ({ ...s }));
    const xs = this.points.map((p) => p[0]), ys = this.points.map((p) => p[1]);
    const size = Math.max(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys), 24);
    this.unit = size / 100; // of the drawing's own: what letters and dots are sized by
    const m = 22 * this.unit;
    this.box = [Math.min(...xs) - m, -Math.max(...ys) - m, Math.max(...xs) - Math.min(...xs) + 2 * m, Math.max(...ys) - Math.min(...ys) + 2 * m];
    this.svg.setAttribute('viewBox', this.box.join(' '));
    this.paint();
  }

  edge(i) {
    const a = this.points[i], b = this.points[(i + 1) % this.points.length];
    const long = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1, along = [(b[0] - a[0]) / long, (b[1] - a[1]) / long];
    return { a, b, long, along, out: [along[1], -along[0]] };
  }

  // Whether an edge begins at a corner that the deck lies round: outside, its lettering would run into its neighbour's.
  reflex(i) {
    const p = this.edge((i + this.points.length - 1) % this.points.length).along, q = this.edge(i).along;
    return p[0] * q[1] - p[1] * q[0] < -1e-6;
  }

  paint() {
    const { svg, unit: u, plan } = this, held = document.activeElement?.dataset?.corner;
    svg.replaceChildren();
    svg.append(drawn('polygon', { points: this.points.map(([x, y]) => `${x},${-y}`).join(' '), class: 'deck' }));
    plan.edges.forEach((e, i) => this.paintEdge(e, i));
    this.slid.forEach((s, n) => this.paintStair(s, n));
    this.paintSides();
    if (!plan.clipped) this.points.forEach(([x, y], i) => {
      const dot = drawn('circle', { cx: x, cy: -y, r: 2.6 * u, class: 'corner', tabindex: 0, 'data-corner': i, role: 'button', 'aria-label': `corner ${i + 1} at ${feetInches(x)}, ${feetInches(y)}` });
      dot.addEventListener('pointerdown', (e) => this.drag(e, (at) => this.corner(i, at), (version) => this.cornerMoved(version)));
      dot.addEventListener('keydown', (e) => {
        const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[e.key];
        if (!step) return;
        e.preventDefault();
        this.corner(i, [this.points[i][0] + step[0] * plan.snap, this.points[i][1] + step[1] * plan.snap], true);
        this.cornerMoved();
      });
      svg.append(dot);
    });
    if (held !== undefined) svg.querySelector(`[data-corner="${held}"]`)?.focus();
  }

  paintEdge(e, i) {
    const { unit: u } = this, { a, b, long, along, out } = this.edge(i), mid = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    if (e.house) {
      const deep = 5 * u, band = [a, b, [b[0] + out[0] * deep, b[1] + out[1] * deep], [a[0] + out[0] * deep, a[1] + out[1] * deep]];
      this.svg.append(drawn('polygon', { points: band.map(([x, y]) => `${x},${-y}`).join(' '), class: 'house' }));
    }
    this.svg.append(drawn('line', { x1: a[0], y1: -a[1], x2: b[0], y2: -b[1], class: 'edge' }));
    const away = e.house ? 12 * u : this.slid.some((s) => s.edge === e.name) || this.reflex(i) ? -7 * u : 7 * u;
    let turn = -Math.atan2(along[1], along[0]) * 180 / Math.PI;
    if (turn > 89.99 || turn < -90.01) turn += 180; // read from below or from the right
    const x = mid[0] + out[0] * away, y = -(mid[1] + out[1] * away);
    const text = drawn('text', { x, y, 'font-size': 4.6 * u, transform: `rotate(${turn} ${x} ${y})`, class: 'length', tabindex: 0, role: 'button', 'data-edge': i, 'aria-label': `length of ${e.name}` }, `${e.name} ${feetInches(long)}`);
    const type = () => this.typeLength(i, text, long);
    text.addEventListener('click', type);
    text.addEventListener('keydown', (k) => { if (k.key === 'Enter') { k.preventDefault(); type(); } });
    this.svg.append(text);
  }

  paintStair(s, n) {
    const i = this.plan.edges.findIndex((e) => e.name === s.edge);
    if (i < 0) return;
    const { a, along, out, long } = this.edge(i), start = s.at ?? (long - s.width) / 2, deep = 16 * this.unit;
    const at = (d, o) => [a[0] + along[0] * d + out[0] * o, a[1] + along[1] * d + out[1] * o];
    const group = drawn('g', { class: 'stair', 'data-stair': n });
    group.append(drawn('polygon', { points: [at(start, 0), at(start + s.width, 0), at(start + s.width, deep), at(start, deep)].map(([x, y]) => `${x},${-y}`).join(' ') }));
    for (const k of [1, 2, 3]) {
      const [p, q] = [at(start, deep * k / 4), at(start + s.width, deep * k / 4)];
      group.append(drawn('line', { x1: p[0], y1: -p[1], x2: q[0], y2: -q[1] }));
    }
    const m = at(start + s.width / 2, deep * 5 / 8);
    group.append(drawn('text', { x: m[0], y: -m[1], 'font-size': 4.2 * this.unit }, `stair ${n + 1}`));
    group.addEventListener('pointerdown', (e) => {
      const from = this.place(e), began = start;
      this.drag(e, (to) => {
        const moved = (to[0] - from[0]) * along[0] + (to[1] - from[1]) * along[1];
        this.slid[n].at = Math.max(0, Math.min(long - s.width, this.snapped(began + moved)));
        this.slidTo = { n, at: this.slid[n].at, changed: Math.abs(this.slid[n].at - began) > 1e-6 };
      }, (version) => this.stairMoved(version));
    });
    this.svg.append(group);
  }

  // Left and right as one says them with the face to the house.
  paintSides() {
    const i = this.plan.edges.findIndex((e) => e.house);
    if (i < 0) return;
    const { out } = this.edge(i), right = [out[1], -out[0]], u = this.unit;
    const cx = this.box[0] + this.box[2] / 2, cy = this.box[1] + this.box[3] / 2;
    for (const [word, sign] of [['left', -1], ['right', 1]]) {
      const reach = Math.abs(right[0]) > 0.7 ? this.box[2] / 2 - 5 * u : this.box[3] / 2 - 5 * u;
      const x = cx + sign * right[0] * reach, y = cy - sign * right[1] * reach;
      const turn = Math.abs(right[0]) > 0.7 ? -90 : 0;
      this.svg.append(drawn('text', { x, y, 'font-size': 4 * u, class: 'side', transform: `rotate(${turn} ${x} ${y})` }, `${word}, facing the house`));
    }
  }

  snapped(v) { return Math.round(v / this.plan.snap) * this.plan.snap; }

  place(e) {
    const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [p.x, -p.y];
  }

  drag(e, move, end) {
    if (e.button !== 0) return;
    e.preventDefault();
    this.svg.setPointerCapture(e.pointerId);
    this.dragged = this.desk.form.version; // against which it is written: a change meanwhile refuses it
    const on = (m) => { move(this.place(m)); this.paint(); };
    const off = (m) => {
      this.svg.removeEventListener('pointermove', on);
      this.svg.removeEventListener('pointerup', off);
      this.svg.removeEventListener('pointercancel', off);
      const version = this.dragged;
      this.dragged = null;
      if (m.type === 'pointerup') end(version); else this.draw();
    };
    this.svg.addEventListener('pointermove', on);
    this.svg.addEventListener('pointerup', off);
    this.svg.addEventListener('pointercancel', off);
  }

  // A corner under the pointer: on whole steps where it left its place, and where it was in the other way.
  corner(i, at, exact = false) {
    const was = this.plan.points[i], to = at.map((v, k) => (exact ? v : Math.abs(v - was[k]) < this.plan.snap / 2 ? was[k] : this.snapped(v)));
    if (!this.plan.rectangle) { this.points[i] = to; return; }
    const [w, d] = this.plan.points[2], left = i === 0 || i === 3, front = i < 2;
    const wide = left ? w - (to[0] - was[0]) : to[0], deep = front ? d - (to[1] - was[1]) : to[1];
    const [x0, y0] = [left ? w - wide : 0, front ? d - deep : 0];
    this.points = [[x0, y0], [x0 + wide, y0], [x0 + wide, y0 + deep], [x0, y0 + deep]];
  }

  cornerMoved(version) {
    const changes = [], was = this.plan.points;
    if (this.plan.rectangle) {
      const size = this.points[2].map((v, k) => v - this.points[0][k]);
      ['width', 'depth'].forEach((key, k) => { if (Math.abs(size[k] - was[2][k]) > 1e-6) changes.push({ key: `outline.${key}`, inches: size[k] }); });
    } else {
      this.points.forEach((p, i) => p.forEach((v, k) => { if (Math.abs(v - was[i][k]) > 1e-6) changes.push({ key: `outline.points.${i}.${k}`, inches: v }); }));
    }
    if (changes.length) this.desk.write(changes, null, version); else this.draw();
  }

  stairMoved(version) {
    const { slidTo } = this;
    this.slidTo = null;
    if (slidTo?.changed) this.desk.write([{ key: `stair.${slidTo.n}.at`, inches: slidTo.at }], null, version); else this.draw();
  }

  typeLength(i, text, long) {
    const box = text.getBoundingClientRect(), home = this.home.getBoundingClientRect();
    this.typing = i;
    this.entry.hidden = false;
    this.entry.value = feetInches(long).replace("'-", "' ");
    this.entry.style.left = `${Math.max(4, Math.min(home.width - 110, box.left - home.left + box.width / 2 - 50))}px`;
    this.entry.style.top = `${box.top - home.top + box.height / 2 - 15}px`;
    this.entry.focus();
    this.entry.select();
  }

  lengthTyped() {
    const text = this.entry.value;
    this.entry.hidden = true;
    this.desk.write([{ edge: this.typing, text }]);
  }
}
