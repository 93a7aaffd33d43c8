// What can be seen on the ground, and what was found in it.
const LETTERS = { "valve box": "V", meter: "M", backflow: "B", pump: "P", stub: "S", hose_bib: "H", yard_hydrant: "Y", quick_coupler: "Q" };

function groundLayers(content, panes) {
  const { ground, looks } = content;
  const flat = { interactive: false, renderer: panes.ground.renderer, pane: "ground", smoothFactor: 0 };
  const signs = { interactive: false, renderer: panes.signs.renderer, pane: "signs", ink: looks.ink };
  const edge = ground.boundary
    ? [L.polygon(places(ground.boundary), { ...flat, color: looks.ink, weight: 2, fillColor: looks.grass, fillOpacity: 1 })]
    : [];
  const obstacles = ground.obstacles.flatMap((item) => [
    L.polygon(places(item.outline), {
      ...flat, renderer: panes.obstacles.renderer, pane: "obstacles", color: looks.ink, weight: 1.2,
      dashArray: item.kind === "bed" ? [4, 3] : null, fillColor: looks.ground[item.kind],
      fillOpacity: item.kind === "building" || item.kind === "pool" ? 1 : 0.25,
    }),
    word(item.kind, [centreOf(item.outline)], panes.words, "ground"),
  ]);
  const trees = ground.trees.map((tree) =>
    new Sign(place(tree.x, tree.y), { ...signs, shape: "circle", radius: SIGN_PX, color: "#3f5d22", fillColor: "#dbe8cc", letter: "T" }));
  const heads = ground.heads.map((head) => new Sign(place(head.x, head.y), {
    ...signs, shape: "circle", radius: SIGN_PX, fillColor: looks.paper, ...zoneLook(head.zone, content),
  }));
  const fixtures = ground.fixtures.map((item) => new Sign(place(item.x, item.y), {
    ...signs, shape: "square", radius: SIGN_PX, color: looks.ink, fillColor: item.kind === "valve box" ? "#d9d9d9" : looks.paper,
    letter: LETTERS[item.kind],
  }));
  const found = [
    ...ground.swept.map((outline) => L.polygon(places(outline), {
      ...flat, renderer: panes.obstacles.renderer, pane: "obstacles", color: looks.swept, weight: 1.5, dashArray: [8, 3, 2, 3], fill: false,
    })),
    ...ground.sketches.map((path) => L.polyline(places(path), {
      ...flat, renderer: panes.likely.renderer, pane: "likely", color: looks.sketch, weight: 2, dashArray: [2, 4],
    })),
    ...ground.probes.map((probe) => new Sign(place(...atShare(stretched(probe.points), 0.5)), {
      ...signs, shape: "diamond", radius: SIGN_PX + 1, color: looks.probe, fillColor: looks.paper, letter: probe.found ? "X" : "-",
    })),
  ];
  const flags = ground.flags.map((flag) => new Sign(place(flag.x, flag.y), {
    ...signs, shape: "triangle", radius: 6, color: looks.paper, fillColor: looks.ink,
  }));
  return { edge, obstacles, trees, heads, fixtures, found, flags };
}

// Colour and letters of a zone; long names are shortened as far as they stay apart.
function zoneLook(zone, { ground, looks }) {
  if (zone === null) return { color: looks.faint, letter: "?" };
  const short = (n) => ground.zones.map((name) => name.slice(0, n));
  const n = [1, 2].find((count) => new Set(short(count)).size === ground.zones.length) ?? 3;
  const whole = ground.zones.every((name) => name.length < 4);
  const color = looks.zones[ground.zones.indexOf(zone) % looks.zones.length];
  return { color, letter: whole ? zone : zone.slice(0, n) };
}

function centreOf(outline) {
  const sum = outline.reduce(([a, b], [x, y]) => [a + x, b + y], [0, 0]);
  return [sum[0] / outline.length, sum[1] / outline.length];
}
