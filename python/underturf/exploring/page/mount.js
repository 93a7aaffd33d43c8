// Puts everything together in an element of a page or of a notebook.
const PANES = ["ground", "surface", "obstacles", "barred", "zones", "bands", "likely", "sampled", "metal", "known", "signs", "digs", "tap", "words"];
const CANVASES = ["ground", "obstacles", "zones", "bands", "likely", "sampled", "metal", "known", "signs", "digs", "tap"];
const SHOWN = ["chance", "likely", "heads", "fixtures", "found", "ground", "digs"];

function makeMap(box, content, grid) {
  const map = L.map(box, {
    crs: L.CRS.Simple, attributionControl: false, zoomSnap: 0.25, zoomDelta: 0.5, minZoom: -4, maxZoom: 8, zoomControl: true,
  });
  const panes = {};
  PANES.forEach((name, k) => {
    map.createPane(name).style.zIndex = 210 + 10 * k;
    map.getPane(name).style.pointerEvents = "none";
    panes[name] = { name, renderer: CANVASES.includes(name) ? L.canvas({ pane: name, padding: 0.3 }) : null };
  });
  const metric = content.site.units !== "ft";
  L.control.scale({ metric, imperial: !metric, maxWidth: 140, position: "bottomleft" }).addTo(map);
  map.fitBounds(grid.bounds, { animate: false });
  return [map, panes];
}

function digLayers(content, panes) {
  const look = { interactive: false, renderer: panes.digs.renderer, pane: "digs", color: content.looks.dig, weight: 3, fill: false };
  return content.digs.flatMap((dig) => {
    const [path, half] = [dig.points_m, dig.half_width_m];
    const shape = { hole: () => L.circle(place(...path[0]), { ...look, radius: half }),
      pit: () => L.polygon(places(path), look),
      trench: () => strip(path, half, { ...look, lineCap: "butt", opacity: 0.45 }) }[dig.kind]();
    return [shape, word(dig.id, aboutOf(dig.kind === "pit" ? centreOf(path) : atShare(stretched(path), 0.5)), panes.words, "dig")];
  });
}

function mount(root, content, { linked, ask }) {
  const grid = new Grid(content.grid);
  const answers = new Answers(content, grid);
  const box = element("div", { class: "ut-map", role: "application", "aria-label": "map; tap a place for the chance of a hole there" });
  const north = element("div", { class: "ut-north" }, northArrow(content));
  const answer = element("output", { class: "ut-answer", "aria-live": "polite" }, element("p", {}, "Tap a place on the map: this hole here."));
  const more = element("div", { class: "ut-more" });
  const exact = element("output", { class: "ut-exact", "aria-live": "polite" });
  const units = content.site.units;
  const hole = { x: undefined, y: undefined };
  const radius = new Choice("radius", `Radius, ${units}`, grid.radii_m, (value) => parseFloat(lengthText(value, units)), () => update());
  const depth = new Choice("depth", `Depth, ${units}`, grid.depths_m, (value) => parseFloat(lengthText(value, units)), () => update());
  const panel = element("div", { class: "ut-panel" });
  root.replaceChildren(
    element("header", {}, element("h1", {}, content.site.name), alarmOf(content)),
    element("div", { class: "ut-ground" }, box, north), panel, cautionsOf(content));

  const [map, panes] = makeMap(box, content, grid);
  const surface = new Surface(content, grid, map);
  const sampled = new Sampled(content, panes);
  const layers = { ...groundLayers(content, panes), likely: likelyLayers(content, panes), digs: digLayers(content, panes) };
  L.layerGroup([...layers.edge, surface.barred, ...knownLayers(content, panes), ...metalLayers(content, panes)]).addTo(map);
  const legend = new Layers(map, legendRows(content, layers, surface, sampled), () => update());
  SHOWN.forEach((name) => legend.set(name, true, true));
  const tapped = L.layerGroup().addTo(map);

  const count = sampled.numbers.length;
  const slider = element("input", { type: "range", min: 0, max: Math.max(count - 1, 0), value: 0, "aria-label": "sampled layout",
    on: { input: () => { legend.set("sampled", true, true); update(); } } });
  const drawn = element("p", { class: "ut-drawn" });

  const goTo = (dig) => {
    const [x, y] = dig.kind === "pit" ? centreOf(dig.points_m) : atShare(stretched(dig.points_m), 0.5);
    map.setView(place(x, y), Math.max(map.getZoom(), 5), { animate: false });
    tap(x, y);
  };
  panel.append(
    element("section", { class: "ut-hole" }, answer, exact, radius.box, depth.box, more),
    ...(content.digs.length ? [section("Digs and verdicts", false, digTable(content, goTo))] : []),
    ...(count ? [section("Sampled layouts, one by one", false, slider, drawn)] : []),
    section("Legend and layers", window.matchMedia("(min-width: 800px)").matches, legend.list),
    section("What these figures are", false, aboutList(content, grid)), footerOf(content));

  function tap(x, y) {
    Object.assign(hole, { x, y });
    update();
  }

  function update() {
    Object.assign(hole, { radius: radius.value, depth: depth.value });
    surface.show(grid.nearest(hole.radius, hole.depth));
    showDraw();
    if (hole.x !== undefined) showAnswer();
    if (linked) linked(writeLink({ hole, layers: legend.shown, draw: Number(slider.value) }));
  }

  function showDraw() {
    if (!count) return;
    const k = Number(slider.value);
    sampled.show(k);
    drawn.textContent = `Layout ${sampled.numbers[k] + 1} of ${content.draws} (${count} are stored). It agrees with all that is seen; none is the truth.`;
  }

  function showAnswer() {
    const found = answers.of(hole);
    Object.assign(answer.dataset, { state: found.state, p: found.p ?? "", mcse: found.mcse ?? "" });
    const [first, rest] = answers.paragraphs(hole, found);
    answer.replaceChildren(...asParagraphs(first));
    more.replaceChildren(...asParagraphs(rest));
    tapped.clearLayers();
    const ring = { interactive: false, renderer: panes.tap.renderer, pane: "tap", radius: hole.radius, fill: false };
    tapped.addLayer(L.circle(place(hole.x, hole.y), { ...ring, color: "#ffffff", weight: 6 }));
    tapped.addLayer(L.circle(place(hole.x, hole.y), { ...ring, color: "#000000", weight: 2.5 }));
    exact.replaceChildren();
    if (ask) ask(hole);
  }

  function showExact(said) {
    exact.replaceChildren(...asParagraphs(exactParagraphs(content, said)));
  }

  map.on("zoomend resize layeradd layerremove", later(() => placeWords(map)));
  map.on("click", (event) => tap(event.latlng.lng, event.latlng.lat));
  hoverOf(map, answers, radius, depth);
  later(() => placeWords(map))();
  new ResizeObserver(() => map.invalidateSize({ animate: false })).observe(box);
  return { map, grid, tap, update, showExact, radius, depth, slider, legend, refit: () => map.fitBounds(grid.bounds, { animate: false }) };
}

const asParagraphs = (said) => said.map(([kind, text]) => element("p", kind ? { class: kind } : {}, text));

// Calls once the browser draws next, however often it is asked before.
function later(call) {
  let waiting = false;
  return () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; call(); });
  };
}

// What lies under the pointer of a mouse; fingers tap.
function hoverOf(map, answers, radius, depth) {
  const tip = L.tooltip({ direction: "top", offset: [0, -6], opacity: 1 });
  map.on("mousemove", (event) => {
    if (event.originalEvent.pointerType === "touch" || window.matchMedia("(hover: none)").matches) return;
    const hole = { x: event.latlng.lng, y: event.latlng.lat, radius: radius.value, depth: depth.value };
    tip.setLatLng(event.latlng).setContent(element("span", {}, answers.brief(hole)));
    if (!map.hasLayer(tip)) tip.addTo(map);
  });
  map.on("mouseout", () => tip.remove());
}

function exactParagraphs(content, said) {
  if (said.error) return [["ut-counts", `No exact answer: ${said.error}`]];
  const mark = said.converged ? [] : [["ut-alarm", content.not_converged]];
  if (said.known) return [...mark, ["ut-counts", COUNTS[said.known === "tolerance_zone" ? "zone" : "metal"]]];
  return [...mark, ["", `Exact for this hole: ${chanceText(said.p)}, up to ${chanceText(said.upper95)}; Monte Carlo error ${errorText(said.mcse)}.`]];
}

// A file opens itself, at the place of its link if it has one.
function open() {
  const content = JSON.parse(document.getElementById("underturf-content").textContent);
  const remember = (link) => {
    try { window.history.replaceState(null, "", link); } catch { /* a frame of a notebook has no address */ }
  };
  const page = mount(document.getElementById("underturf"), content, { linked: remember });
  const go = () => follow(page, readLink(window.location.hash));
  window.addEventListener("hashchange", go);
  go();
}

function follow(page, link) {
  if (link.radius !== undefined || link.depth !== undefined) {
    const map = page.grid.nearest(link.radius ?? page.radius.value, link.depth ?? page.depth.value);
    page.radius.value = map.radius_m;
    page.depth.value = map.depth_m;
  }
  if (link.layers) for (const [name] of page.legend.boxes) page.legend.set(name, link.layers.includes(name), true);
  if (link.draw !== undefined) page.slider.value = link.draw;
  if (link.tap) page.tap(...link.tap);
  else page.update();
}

// A widget asks Python about every hole that is tapped, and follows holes that Python sets.
function render({ model, el }) {
  const root = element("div", { class: "ut ut-widget" });
  el.append(root);
  const ask = (hole) => {
    const asked = { x_m: hole.x, y_m: hole.y, radius_m: hole.radius, depth_m: hole.depth };
    model.set("hole", asked);
    model.save_changes();
  };
  const page = mount(root, model.get("content"), { ask });
  const shown = () => {
    const said = model.get("answer");
    if (said && said.hole) page.showExact(said);
  };
  model.on("change:answer", shown);
  page.update();
  return () => { model.off("change:answer", shown); page.map.remove(); };
}
