// The bench under the model: what the pieces measure, what is shown, where it is cut, which checks are not met.
// Every word from the model's data goes in as text, never as markup.

function make(tag, words = '', props = {}) {
  const node = Object.assign(document.createElement(tag), props);
  node.textContent = words;
  return node;
}

const byElement = (id) => document.getElementById(id);

class Bench {
  constructor(model, stage) {
    this.stage = stage;
    this.points = [];
    this.use(model);
    this.wireCut();
    this.wireFind();
    this.wireTabs();
    byElement('tape').addEventListener('change', () => { this.points = []; this.showTape(); });
  }

  use(model) {
    this.model = model;
    byElement('name').textContent = model.data.name;
    document.title = model.data.name;
    byElement('count').textContent = `${model.pieces.length} pieces, ${model.byMark.size} marks`;
    byElement('cautions').textContent = model.data.cautions.join(' ');
    this.listRoles();
    this.listChecks();
    this.choose([]);
  }

  choose(pieces, fly = false) {
    this.chosen = pieces;
    this.stage.mark(pieces);
    const home = byElement('piece');
    home.replaceChildren();
    if (!pieces.length) { home.append(make('p', 'Tap a piece of the deck to see what it measures.', { className: 'quiet' })); return; }
    const p = pieces[0], facts = make('dl');
    home.append(make('p', pieces.length > 1 ? `${p.mark}, ${pieces.length} alike` : p.id || p.mark, { className: 'big' }));
    const row = (name, ...values) => { const d = make('dd'); d.append(...values); facts.append(make('dt', name), d); };
    row('mark', p.mark);
    row('piece', p.role + (p.where ? `, ${p.where}` : ''));
    row('stock', p.stock);
    for (const [name, value] of p.facts) row(name, value);
    const links = (ids) => ids.map((id) => { const b = make('button', id, { type: 'button' }); b.addEventListener('click', () => this.go(id)); return b; });
    if (pieces.length === 1) {
      row('carried by', ...(p.carried_by.length ? links(p.carried_by) : ['nothing in the model']));
      const load = this.model.pieces.filter((q) => q.carried_by.includes(p.id)).map((q) => q.id);
      if (load.length) row('carries', ...links(load));
    }
    home.append(facts);
    const faults = this.model.data.checks.filter((c) => c.result === 'not met' && pieces.some((q) => c.pieces.includes(q.id) || c.pieces.includes(q.mark)));
    for (const c of faults) home.append(make('p', `Not met: ${c.rule}`));
    if (fly) {
      const low = [0, 1, 2].map((k) => Math.min(...pieces.map((q) => q.low[k]))), high = [0, 1, 2].map((k) => Math.max(...pieces.map((q) => q.high[k])));
      const grow = Math.max(18, 0.6 * Math.hypot(...high.map((h, k) => h - low[k])));
      const eye = this.stage.camera.position.clone().sub(this.stage.controls.target);
      const ends = [low.map((c) => c - grow), high.map((c) => c + grow)], box = [];
      for (let i = 0; i < 8; i++) box.push(...[0, 1, 2].map((k) => ends[(i >> k) & 1][k]));
      this.stage.look(box, eye.lengthSq() ? eye.toArray() : [-0.7, -1, 0.75]);
    }
  }

  go(name) {
    const pieces = this.model.byId.has(name) ? [this.model.byId.get(name)] : this.model.byMark.get(name) || [];
    if (!pieces.length) return false;
    const hidden = pieces.filter((p) => !this.model.shown(p));
    if (hidden.length) { hidden.forEach((p) => this.model.hidden.delete(p.role)); this.listRoles(); this.stage.refresh(); }
    this.choose(pieces, true);
    this.open('Piece');
    return true;
  }

  tap(x, y) {
    if (byElement('tape').checked) {
      const corner = this.stage.corner(x, y, 26);
      if (corner) this.points = this.points.length === 2 ? [corner] : [...this.points, corner];
      this.showTape(corner ? '' : 'No corner is near. Tap closer to one.');
      return;
    }
    const hit = this.model.meet(...this.stage.ray(x, y));
    this.choose(hit ? [hit.piece] : []);
    if (hit) this.open('Piece');
  }

  showTape(word = '') {
    this.stage.tape(this.points);
    const home = byElement('distance');
    home.replaceChildren();
    if (!byElement('tape').checked) return;
    if (word) home.append(make('p', word, { className: 'quiet' }));
    if (this.points.length < 2) { home.append(make('p', this.points.length ? 'Now the second corner.' : 'Tap the first corner.', { className: 'quiet' })); return; }
    const [a, b] = this.points, d = b.map((c, k) => Math.abs(c - a[k]));
    home.append(make('p', feetInches(Math.hypot(...d)), { className: 'big', id: 'span' }));
    home.append(make('p', `left to right ${feetInches(d[0])}, front to back ${feetInches(d[1])}, height ${feetInches(d[2])}`, { className: 'quiet' }));
  }

  listRoles() {
    const home = byElement('roles'), { model, stage } = this;
    home.replaceChildren();
    const box = (words, roles, colour) => {
      const label = make('label'), input = make('input', '', { type: 'checkbox', checked: roles.some((r) => !model.hidden.has(r)) });
      input.indeterminate = input.checked && roles.some((r) => model.hidden.has(r)); // some of them
      input.addEventListener('change', () => {
        roles.forEach((r) => (input.checked ? model.hidden.delete(r) : model.hidden.add(r)));
        this.listRoles();
        stage.refresh();
      });
      label.append(input);
      if (colour) { const spot = make('span', '', { className: 'spot' }); spot.style.background = `rgb(${colour.join(',')})`; label.append(spot); }
      label.append(words);
      return label;
    };
    for (const group of model.data.groups) {
      const roles = [...new Set(model.pieces.filter((p) => p.group === group).map((p) => p.role))];
      if (!roles.length) continue;
      const field = make('fieldset'), each = make('div', '', { className: 'each' });
      const whole = box(group, roles);
      whole.firstChild.setAttribute('aria-label', `all ${group}`);
      for (const role of roles) each.append(box(role, [role], model.pieces.find((p) => p.role === role).colour));
      field.append(whole, each);
      home.append(field);
    }
    if (model.data.ground) home.append(box('ground', ['ground']));
  }

  // The pieces that a check is about.
  point(c) {
    const pieces = [...new Set(c.pieces.flatMap((name) => (this.model.byId.has(name) ? [this.model.byId.get(name)] : this.model.byMark.get(name) || [])))];
    if (!pieces.length) return;
    pieces.forEach((p) => this.model.hidden.delete(p.role));
    this.listRoles();
    this.stage.refresh();
    this.choose(pieces, true);
  }

  listChecks() {
    const home = byElement('checks'), { checks } = this.model.data;
    home.replaceChildren();
    const bad = checks.filter((c) => c.result === 'not met'), open = checks.filter((c) => c.result === 'not checked');
    const met = checks.filter((c) => c.result === 'met').length;
    home.append(make('p', checks.length ? `${bad.length} not met, ${open.length} not checked, ${met} met.` : 'No checks were made.', { className: 'quiet' }));
    const add = (c) => {
      const b = make('button', '', { type: 'button', className: c.result === 'not met' ? '' : 'unknown' });
      b.append(make('strong', c.rule), make('br'));
      b.append(`${c.result}${c.piece ? `, ${c.piece}` : ''}${c.measured ? `: measured ${c.measured}` : ''}${c.limit ? `, limit ${c.limit}` : ''}`);
      if (c.why) b.append(make('br'), make('span', c.why, { className: 'quiet' }));
      if (c.source) b.append(make('br'), make('span', c.source, { className: 'quiet' }));
      b.addEventListener('click', () => this.point(c));
      home.append(b);
    };
    bad.forEach(add);
    open.forEach(add);
  }

  wireCut() {
    const plane = byElement('plane'), flip = byElement('flip'), at = byElement('at');
    const set = () => {
      const axis = document.querySelector('input[name=axis]:checked').value;
      plane.disabled = flip.disabled = axis === '';
      this.model.cut = axis === '' ? null : { axis: Number(axis), at: Number(plane.value), flip: flip.checked };
      at.textContent = axis === '' ? '-' : feetInches(Number(plane.value));
      this.stage.refresh();
    };
    for (const radio of document.querySelectorAll('input[name=axis]')) {
      radio.addEventListener('change', () => {
        if (radio.value !== '') {
          const k = Number(radio.value), { low, high } = this.model;
          plane.min = Math.floor(low[k]) - 1;
          plane.max = Math.ceil(high[k]) + 1;
          plane.value = k === 2 ? high[k] - 1 : (low[k] + high[k]) / 2;
          flip.checked = this.stage.camera.position.toArray()[k] < Number(plane.value); // the cut faces look at the viewer
        }
        set();
      });
    }
    plane.addEventListener('input', set);
    flip.addEventListener('change', set);
    this.setCut = set;
  }

  // Turn the cut so that its faces look at an eye that stands in this direction.
  faceCut(from) {
    const { cut } = this.model;
    if (!cut || Math.abs(from[cut.axis]) < 0.05) return;
    byElement('flip').checked = from[cut.axis] < 0;
    this.setCut();
  }

  wireFind() {
    const input = byElement('mark'), found = byElement('found');
    const list = () => {
      const want = input.value.trim().toLowerCase();
      const marks = [...this.model.byMark.keys()].filter((m) => m.toLowerCase().includes(want));
      const ids = [...this.model.byId.keys()].filter((i) => i.toLowerCase().includes(want) && !marks.includes(i));
      marks.sort((a, b) => a.toLowerCase().indexOf(want) - b.toLowerCase().indexOf(want) || a.length - b.length || a.localeCompare(b));
      return want ? [...marks, ...ids].slice(0, 12) : [];
    };
    const show = () => {
      const names = list();
      found.replaceChildren(...names.map((name) => {
        const some = this.model.byMark.get(name) || [this.model.byId.get(name)];
        const b = make('button', `${name}  ${some[0].role}${some.length > 1 ? `, ${some.length} pieces` : ''}`, { type: 'button' });
        b.addEventListener('click', () => { this.go(name); found.hidden = true; });
        return b;
      }));
      if (input.value.trim() && !names.length) found.replaceChildren(make('p', 'No such mark.', { className: 'quiet' }));
      found.hidden = !input.value.trim();
    };
    input.addEventListener('input', show);
    input.addEventListener('keydown', (e) => { if (e.key === 'Escape') found.hidden = true; });
    byElement('find').addEventListener('submit', (e) => {
      e.preventDefault();
      const want = input.value.trim().toLowerCase(), names = list();
      const name = names.find((n) => n.toLowerCase() === want) || names[0];
      if (name) { this.go(name); found.hidden = true; }
    });
  }

  // On a phone the saw table is one drawer at a time; tapping the open one shuts it.
  wireTabs() {
    const tabs = byElement('tabs');
    for (const section of document.querySelectorAll('#bench > section')) {
      const b = make('button', section.dataset.title, { type: 'button' });
      b.setAttribute('aria-expanded', 'false');
      b.addEventListener('click', () => this.open(section.classList.contains('open') ? '' : section.dataset.title));
      tabs.append(b);
    }
    this.open('Piece');
  }

  open(title) {
    for (const section of document.querySelectorAll('#bench > section')) section.classList.toggle('open', section.dataset.title === title);
    for (const b of document.querySelectorAll('#tabs button')) b.setAttribute('aria-expanded', String(b.textContent === title));
  }
}
