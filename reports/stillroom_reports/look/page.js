// Draws every chart from the JSON beside it. A chart that fails says so in its own place; the others go on.
(() => {
  "use strict";
  const PANEL = 220; // width in pixels below which a panel of a chart of several panels cannot be read
  const SYMBOL = 30; // an entry of a legend takes this much beside its text
  const FLOOR = 130; // narrowest panel; what does not fit then scrolls in its own box
  const MARGIN = 6; // right of the last panel, for half a label
  const NARROW = 560;
  const LABELS = 135; // widest label beside an axis where room is short
  const LETTER = 7;
  const PATIENCE = 200; // milliseconds without anything new to see
  const read = (id) => JSON.parse(document.getElementById(id).textContent);
  const look = read("chart-look");
  const dark = matchMedia("(prefers-color-scheme: dark)");

  const parts = (spec) => spec.hconcat || spec.vconcat || spec.concat || (spec.spec ? [spec.spec] : []);
  const encoded = (spec) => ["facet", "row", "column"].filter((channel) => (spec.encoding || {})[channel]);
  const panelled = (spec) => parts(spec).length > 0 || encoded(spec).length > 0;

  // Letters of the longest entry that a legend of this chart has.
  function longestEntry(spec, datasets = spec.datasets || {}) {
    const named = ["color", "shape"].map((channel) => (spec.encoding || {})[channel])
      .filter((channel) => channel && channel.field && channel.legend !== null);
    const rows = Object.values(datasets).flat();
    const own = named.flatMap(({ field, scale }) => [...rows.map((row) => row[field] ?? ""), ...(scale?.domain ?? [])])
      .map((entry) => String(entry).length);
    const inner = [...parts(spec), ...(spec.layer || [])].map((part) => longestEntry(part, datasets));
    return own.concat(inner).reduce((most, letters) => Math.max(most, letters), 0);
  }

  // A legend stands over the drawing, right of the labels beside the axis.
  function legendColumns(room, letters) {
    const width = room - (room < NARROW ? LABELS : 0);
    return Math.max(1, Math.floor(width / (letters * LETTER + SYMBOL)));
  }

  // Styles that the libraries would insert are refused by the page's policy; page.css has its own.
  function options(room, letters) {
    const narrow = room < NARROW;
    const scheme = look[dark.matches ? "dark" : "light"];
    const config = {
      ...scheme,
      axisX: { titleLimit: room },
      axisY: { titleLimit: 260, labelLimit: narrow ? LABELS : 200 },
      title: { ...scheme.title, limit: room },
      legend: {
        ...scheme.legend, columns: legendColumns(room, letters), labelLimit: room - SYMBOL - (narrow ? LABELS : 0),
      },
    };
    return {
      ast: true, actions: false, renderer: "svg", defaultStyle: false, tooltip: { disableDefaultStyle: true },
      config, formatLocale: look.formatLocale,
    };
  }

  function lines(title, most) {
    if (typeof title !== "string") return title;
    return title.split(" ").reduce((done, word) => {
      const longer = done.length ? `${done.at(-1)} ${word}` : word;
      return done.length && longer.length <= most ? [...done.slice(0, -1), longer] : [...done, word];
    }, []);
  }

  // Where room is short, legends that an author has set in columns and titles that are longer than their axis give way.
  function narrowed(spec, room, letters) {
    const most = legendColumns(room, letters);
    for (const [name, channel] of Object.entries(spec.encoding || {})) {
      if (channel.legend && channel.legend.columns > most) channel.legend.columns = most;
      if (name !== "x" || room >= NARROW) continue;
      const longest = Math.floor((room - LABELS) / LETTER);
      if (channel.title) channel.title = lines(channel.title, longest);
      if (channel.axis && channel.axis.title) channel.axis.title = lines(channel.axis.title, longest);
    }
    for (const inner of [...parts(spec), ...(spec.layer || [])]) narrowed(inner, room, letters);
  }

  // A chart library cannot fit several panels to the page by itself: put fewer beside each other where room is short,
  function stacked(spec, room) {
    const most = Math.max(1, Math.floor(room / PANEL));
    if (spec.columns > most) spec.columns = most;
    const facet = (spec.encoding || {}).facet;
    if (facet && facet.columns > most) facet.columns = most;
    if (spec.hconcat && spec.hconcat.length > most) {
      spec.vconcat = spec.hconcat;
      delete spec.hconcat;
    }
    parts(spec).forEach((part) => stacked(part, room));
    return spec;
  }

  function setWidth(spec, width) {
    if (parts(spec).length) parts(spec).forEach((part) => setWidth(part, width));
    else spec.width = width;
  }

  // draw once, and share what is left or lacking among the panels that stand beside each other.
  async function drawPanels(box, spec, room, letters) {
    stacked(spec, room);
    setWidth(spec, PANEL);
    const { view } = await vegaEmbed(box, spec, options(room, letters));
    const panels = Array.from(
      box.querySelectorAll(".role-scope:not(.role-legend *) > g > path.background"),
      (panel) => panel.getBoundingClientRect(),
    );
    const beside = Math.max(1, new Set(panels.map((panel) => Math.round(panel.left))).size);
    const right = Math.max(...panels.map((panel) => panel.right));
    const spare = room - MARGIN - (right - box.getBoundingClientRect().left);
    const width = Math.max(FLOOR, Math.floor(PANEL + spare / beside));
    const { signals } = view.getState({ signals: (name) => /width$/i.test(name), data: () => false });
    for (const [name, value] of Object.entries(signals)) if (value === PANEL) view.signal(name, width);
    await view.resize().runAsync();
  }

  // Names beside points are placed for a wide page; on a narrow one those that would lie on another are left out.
  function thinned(box) {
    const kept = [];
    for (const name of box.querySelectorAll(".mark-text.role-mark text")) {
      const one = name.getBoundingClientRect();
      const hit = kept.some((other) => one.left < other.right && other.left < one.right
        && one.top + 3 < other.bottom && other.top + 3 < one.bottom);
      if (hit) name.style.visibility = "hidden";
      else kept.push(one);
    }
  }

  async function draw(box) {
    try {
      const spec = read(box.dataset.chart);
      const room = box.clientWidth;
      const letters = longestEntry(spec);
      narrowed(spec, room, letters);
      await (panelled(spec) ? drawPanels(box, spec, room, letters) : vegaEmbed(box, spec, options(room, letters)));
      thinned(box);
    } catch {
      const line = document.createElement("p");
      line.className = "undrawn";
      line.textContent = "This chart could not be drawn by this browser.";
      box.replaceChildren(line);
    }
  }

  // One after another; the browser shows what there is already before the first, and then now and again: each time costs.
  async function drawAll() {
    let shown = -Infinity;
    for (const box of document.querySelectorAll("[data-chart]")) {
      if (performance.now() - shown > PATIENCE) {
        await new Promise((resolve) => setTimeout(resolve));
        shown = performance.now();
      }
      await draw(box);
    }
  }
  drawAll().then(() => { document.documentElement.dataset.charts = "done"; });

  dark.addEventListener("change", drawAll);
  let width = innerWidth;
  let waiting;
  addEventListener("resize", () => {
    if (innerWidth === width) return; // a phone's address bar comes and goes
    width = innerWidth;
    clearTimeout(waiting);
    waiting = setTimeout(drawAll, 200);
  });

  // On paper nothing can be unfolded.
  let opened = [];
  addEventListener("beforeprint", () => {
    opened = Array.from(document.querySelectorAll("details:not([open])"));
    for (const fold of opened) fold.open = true;
  });
  addEventListener("afterprint", () => {
    for (const fold of opened) fold.open = false;
  });
})();
