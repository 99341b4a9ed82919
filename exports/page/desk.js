// The parameter file beside the model, as a form: what is typed is sent, and what the file then says is shown. Nothing is kept here
// that the file does not say, but for what is being typed and what was refused.

class Desk {
  constructor(live, look) {
    this.live = live;
    this.look = look; // called with the checks' pieces when a row is picked
    this.form = null;
    this.fields = new Map();
    this.checks = [];
    this.sending = Promise.resolve();
    this.home = byElement('desk');
    this.home.hidden = false;
    this.bar();
    this.plan = new PlanView(this);
    this.home.append(this.plan.home);
    this.unmet = make('div', '', { id: 'unmet' });
    this.find = make('input', '', { type: 'search', id: 'key', placeholder: 'such as joist', autocomplete: 'off', spellcheck: false });
    this.find.addEventListener('input', () => this.filter());
    const finding = make('label', 'Find a key', { className: 'finding' });
    finding.append(this.find);
    this.groups = make('div', '', { id: 'groups' });
    this.home.append(this.unmet, finding, this.groups);
  }

  bar() {
    const bar = make('div', '', { className: 'bar' });
    this.name = make('strong', '');
    this.undo = make('button', 'Undo', { type: 'button', id: 'undo', disabled: true });
    this.redo = make('button', 'Redo', { type: 'button', id: 'redo', disabled: true });
    this.undo.addEventListener('click', () => this.step(-1));
    this.redo.addEventListener('click', () => this.step(1));
    bar.append(this.name, this.undo, this.redo);
    this.word = make('p', '', { id: 'word', hidden: true });
    this.word.setAttribute('role', 'alert');
    this.home.append(bar, this.word);
  }

  tell(words) { this.word.textContent = words || ''; this.word.hidden = !words; }

  async load() {
    try { this.show(await (await fetch(this.live.file, { cache: 'no-store' })).json()); }
    catch (fault) { this.tell(`The file could not be read: ${fault.message}`); }
  }

  // One write after the other, each made against the file as the page then shows it.
  write(changes, field, version) {
    this.sending = this.sending.then(() => this.send(this.live.write, { changes, version: version ?? (field?.base && field.base.value !== field.value ? field.base.version : this.form.version) }, field));
    return this.sending;
  }

  step(step) {
    this.sending = this.sending.then(() => this.send(this.live.back, { step, version: this.form.version }));
    return this.sending;
  }

  async send(where, body, field) {
    let answer, told;
    try {
      answer = await fetch(where, { method: 'POST', cache: 'no-store', headers: { 'Content-Type': 'application/json', 'X-Plumbcut-Token': this.live.token }, body: JSON.stringify(body) });
      told = answer.status === 200 || answer.status === 409 || answer.status === 422 ? await answer.json() : null;
    } catch (fault) { return this.tell(`Not written: ${fault.message}`); }
    if (!told) return this.tell(`Not written: this page is of an earlier watch; load it again. (${answer.status})`);
    if (answer.ok) {
      if (field) { field.base = null; field.refused = null; }
      this.tell('');
      return this.show(told.form);
    }
    const at = field || this.fields.get(told.refused[0]?.key);
    if (field) { field.refused = told.refused.length ? told.refused.map((f) => (f.key === field.path ? f.message : `${f.key}: ${f.message}`)).join('\n') : told.message; field.base = null; }
    this.tell(`${at && told.refused.length ? `Not written, the file stays as it was. ${told.message}` : told.message}`);
    this.show(told.form);
    if (!field) this.plan.draw();
  }

  // The file as it now is.
  show(form) {
    const shape = (f) => JSON.stringify(f.groups, (k, v) => (['value', 'given', 'default', 'chosen'].includes(k) ? undefined : v));
    const same = this.form && shape(this.form) === shape(form);
    this.form = form;
    this.name.textContent = form.file;
    this.undo.disabled = !form.undo;
    this.redo.disabled = !form.redo;
    if (!same) this.build();
    const walk = (g) => { g.keys.forEach((k) => this.fields.get(k.path)?.set(k)); g.groups.forEach(walk); };
    form.groups.forEach(walk);
    for (const [key, field] of this.fields) field.fault(form.faults.filter((f) => f.key && this.nearest(f.key) === key).map((f) => (f.key === key ? f.message : `${f.key}: ${f.message}`)).join('\n'));
    const homeless = form.faults.filter((f) => !this.nearest(f.key));
    if (homeless.length) this.tell(homeless.map((f) => `line ${f.line}: ${f.key ? `${f.key}: ` : ''}${f.message}`).join('\n'));
    this.plan.draw();
    this.listChecks();
    this.count();
  }

  nearest(key) { // the field of a key, or of the list that it is an item of
    for (let at = key; at; at = at.split('.').slice(0, -1).join('.')) if (this.fields.has(at)) return at;
    return null;
  }

  build() {
    const open = new Set([...this.groups.querySelectorAll('details[open]')].map((d) => d.dataset.path)), top = this.home.scrollTop;
    if (!this.fields.size) open.add('outline').add('levels');
    const held = document.activeElement?.dataset?.path, dirty = new Map([...this.fields].filter(([, f]) => f.base).map(([k, f]) => [k, { text: f.input.value, base: f.base }]));
    this.fields.clear();
    this.groups.replaceChildren(...this.form.groups.map((g) => this.group(g, open)));
    for (const [key, was] of dirty) { const f = this.fields.get(key); if (f) { f.input.value = was.text; f.base = was.base; } }
    this.fields.get(held)?.input.focus();
    this.home.scrollTop = top;
    this.filter();
  }

  group(g, open) {
    const d = make('details', '', { className: 'group', open: open.has(g.path) });
    d.dataset.path = g.path;
    const sum = make('summary', '');
    sum.append(make('span', g.one_more ? `add a ${g.title.replaceAll('_', ' ')}` : g.title), make('span', '', { className: 'tally quiet' }));
    d.append(sum);
    if (g.about) d.append(make('p', g.about, { className: 'quiet' }));
    if (g.one_more) d.append(new Field(this, g.one_more).home);
    g.keys.forEach((k) => d.append(new Field(this, k).home));
    g.groups.forEach((inner) => d.append(this.group(inner, open)));
    if (g.removable) {
      const b = make('button', `Take ${g.title} out`, { type: 'button' });
      b.addEventListener('click', () => this.write([{ key: g.path }]));
      d.append(b);
    }
    return d;
  }

  filter() {
    const words = this.find.value.trim().toLowerCase().split(/\s+/).filter(Boolean);
    for (const f of this.fields.values()) f.home.hidden = !words.every((w) => `${f.path.replaceAll('_', ' ')} ${f.path} ${f.about}`.toLowerCase().includes(w));
    for (const d of [...this.groups.querySelectorAll('details')].reverse()) {
      const any = [...d.querySelectorAll('.field')].some((f) => !f.hidden);
      d.hidden = !any;
      if (words.length) d.open = any;
    }
  }

  count() {
    for (const d of this.groups.querySelectorAll('details')) {
      const all = [...d.querySelectorAll('.field')], given = all.filter((f) => f.classList.contains('given')).length;
      const bad = all.filter((f) => f.querySelector('.fault:not([hidden]), .check')).length;
      d.querySelector('.tally').textContent = [given ? `${given} given` : '', bad ? `${bad} to look at` : ''].filter(Boolean).join(', ');
      d.classList.toggle('bad', bad > 0);
    }
  }

  // Rows that are not met, each beside the key that mends it.
  useChecks(checks) { this.checks = checks.filter((c) => c.result === 'not met'); this.listChecks(); this.count(); }

  listChecks() {
    for (const f of this.fields.values()) f.checks.replaceChildren();
    this.unmet.replaceChildren();
    if (this.checks.length) this.unmet.append(make('h2', `${this.checks.length} ${this.checks.length > 1 ? 'checks' : 'check'} not met`));
    for (const c of this.checks) {
      const keys = [...new Set([...c.mends.map((m) => m.key), ...c.keys])].map((k) => this.nearest(k)).filter(Boolean);
      const told = `${c.rule}${c.piece ? `, ${c.piece}` : ''}${c.measured ? `: measured ${c.measured}` : ''}${c.limit ? `, limit ${c.limit}` : ''}`;
      const row = make('button', told, { type: 'button', className: 'row' });
      row.addEventListener('click', () => { if (keys.length) this.reveal(keys[0]); this.look(c); });
      this.unmet.append(row);
      for (const key of new Set(keys)) {
        const at = this.fields.get(key), line = make('div', '', { className: 'check' });
        line.append(make('span', `not met: ${told}`));
        for (const m of c.mends.filter((x) => x.key === key)) {
          const b = make('button', `Take ${at.asTyped(m.toml)}`, { type: 'button', className: 'take' });
          b.addEventListener('click', () => this.write([{ key: m.key, toml: m.toml }], at));
          line.append(b);
        }
        at.checks.append(line);
      }
    }
  }

  reveal(key) {
    const f = this.fields.get(key);
    if (!f) return;
    this.find.value = '';
    this.filter();
    for (let d = f.home.closest('details'); d; d = d.parentElement.closest('details')) d.open = true;
    f.home.scrollIntoView({ block: 'center' });
    f.input.focus();
  }
}

let fieldNumber = 0;

class Field {
  constructor(desk, k) {
    Object.assign(this, { desk, path: k.path, kind: k.kind, about: k.about, value: null, base: null, refused: null });
    this.home = make('div', '', { className: 'field' });
    const id = `field-${++fieldNumber}`, label = make('label', k.key.replaceAll('_', ' '), { htmlFor: id });
    if (k.kind === 'choice' || k.kind === 'truth') {
      this.input = make('select', '');
      this.input.append(make('option', '', { value: '' }), ...(k.kind === 'truth' ? ['yes', 'no'] : k.choices.filter(Boolean)).map((c) => make('option', c, { value: c })));
    } else {
      this.input = make(k.kind === 'list' ? 'textarea' : 'input', '', { autocomplete: 'off', spellcheck: false });
      if (k.kind === 'list') this.input.rows = 1;
    }
    this.input.id = id;
    this.input.dataset.path = k.path;
    this.error = make('p', '', { className: 'fault', hidden: true, id: `${id}-fault` });
    this.input.setAttribute('aria-describedby', this.error.id);
    this.checks = make('div', '');
    this.home.append(label, this.input, this.error, this.checks, make('p', k.about, { className: 'quiet why' }));
    this.input.addEventListener('input', () => { this.base ??= { version: desk.form.version, value: this.value }; });
    this.input.addEventListener('change', () => this.commit());
    this.input.addEventListener('keydown', (e) => {
      if (e.key === 'Escape') { this.base = this.refused = null; this.input.value = this.value; this.fault(this.standing); }
      if (e.key === 'Enter' && !e.shiftKey && this.input.tagName === 'TEXTAREA') { e.preventDefault(); this.commit(); }
    });
    desk.fields.set(k.path, this);
    this.set(k);
  }

  set(k) {
    const shown = k.kind === 'truth' ? ({ true: 'yes', false: 'no' })[k.value] ?? k.value : k.value;
    const left = k.default ? `${k.default}${k.chosen ? ' (chosen)' : ''}` : 'left out';
    this.value = shown;
    this.home.classList.toggle('given', k.given);
    if (this.input.tagName === 'SELECT') {
      this.input.options[0].textContent = k.kind === 'truth' && k.default ? left.replace('true', 'yes').replace('false', 'no') : left;
      if (shown && ![...this.input.options].some((o) => o.value === shown)) this.input.append(make('option', shown, { value: shown }));
    } else this.input.placeholder = left;
    if (!this.base && !this.refused) this.input.value = shown;
  }

  commit() {
    if (this.input.value === this.value && !this.refused) { this.base = null; return; }
    if (this.input.value === this.value) { this.base = this.refused = null; this.fault(this.standing); this.desk.tell(''); return; }
    this.desk.write([{ key: this.path, text: this.input.value }], this);
  }

  fault(words) {
    this.standing = words;
    const said = this.refused ? `Not written: ${this.refused}` : words;
    this.error.textContent = said;
    this.error.hidden = !said;
    this.input.setAttribute('aria-invalid', String(Boolean(said)));
  }

  asTyped(toml) {
    const number = Number(toml);
    return this.kind === 'in' && Number.isFinite(number) ? feetInches(number).replace("'-", "' ") : toml.replace(/^"|"$/g, '');
  }
}
