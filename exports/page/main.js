// Start: the model out of the page, the stage, the saw table; and, where the page is served by `watch`, news of each rebuild.

function message(words) {
  const news = byElement('news');
  news.textContent = words || '';
  news.hidden = !words;
}

function start() {
  const data = JSON.parse(byElement('data').textContent);
  let model = new Model(data), stage;
  try {
    stage = new Stage(byElement('stage'));
  } catch (fault) {
    message('This browser cannot show the model: WebGL is missing or switched off. The other files of the build hold the same deck.');
    byElement('name').textContent = data.name;
    byElement('cautions').textContent = data.cautions.join(' ');
    return;
  }
  stage.load(model);
  const bench = new Bench(model, stage);
  stage.resize();
  stage.look(model.allCorners(), [-0.7, -1, 0.75], false);

  let down = null;
  const canvas = stage.canvas;
  canvas.addEventListener('pointerdown', (e) => { down = e.isPrimary && e.button === 0 ? [e.clientX, e.clientY] : null; });
  canvas.addEventListener('pointerup', (e) => {
    if (!down || !e.isPrimary || Math.hypot(e.clientX - down[0], e.clientY - down[1]) > 6) return;
    const box = canvas.getBoundingClientRect();
    bench.tap(e.clientX - box.left, e.clientY - box.top);
  });
  for (const b of document.querySelectorAll('#views button')) {
    b.addEventListener('click', () => {
      const from = b.dataset.from.split(',').map(Number);
      bench.faceCut(from);
      stage.look(model.allCorners(), from);
    });
  }

  // A new model takes the old one's place: the eye, the cut and what is hidden stay as they are.
  function swap(fresh) {
    const hidden = model.hidden, names = bench.chosen.map((p) => p.id), first = !model.pieces.length;
    model = new Model(fresh);
    model.hidden = hidden;
    bench.points = [];
    stage.load(model);
    bench.use(model);
    bench.setCut();
    bench.showTape();
    const again = names.map((id) => model.byId.get(id)).filter(Boolean);
    if (again.length) bench.choose(again);
    desk?.useChecks(fresh.checks);
    if (first) stage.look(model.allCorners(), [-0.7, -1, 0.75], false); // there was nothing to look at before
    message('');
  }

  const desk = data.live?.file ? new Desk(data.live, (c) => bench.point(c)) : null;
  if (desk) desk.load().then(() => desk.useChecks(model.data.checks));

  if (data.live) {
    const feed = new EventSource(data.live.events);
    feed.addEventListener('broken', (e) => message(JSON.parse(e.data)));
    feed.addEventListener('model', async () => {
      try { swap(await (await fetch(data.live.model, { cache: 'no-store' })).json()); }
      catch (fault) { message(`The new model could not be loaded: ${fault.message}`); }
    });
    feed.addEventListener('file', (e) => { if (desk && desk.form?.version !== JSON.parse(e.data)) desk.load(); });
    feed.onerror = () => message('The watch has stopped. What you see is the last good model.');
    feed.onopen = () => message('');
  }

  // For tests and for `watch`: a screen place where a piece can be tapped, a world point on the screen, the message line.
  window.plumbcut = {
    message, swap,
    screen: (point) => stage.screen(point),
    corners: (id) => [...model.byId.get(id).corners],
    where: (id) => {
      const p = model.byId.get(id);
      for (let f = 0; f < p.faces.length; f += 3) {
        const c = [0, 1, 2].map((k) => (p.corners[3 * p.faces[f] + k] + p.corners[3 * p.faces[f + 1] + k] + p.corners[3 * p.faces[f + 2] + k]) / 3);
        const [x, y, z] = stage.screen(c), hit = model.meet(...stage.ray(x, y));
        if (z < 1 && hit && hit.piece === p) return [x, y];
      }
      return null;
    },
    caps: () => model.caps.map((c) => ({ id: c.piece.id, triangles: c.triangles })),
    feetInches,
  };
}

start();
