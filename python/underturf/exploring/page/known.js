// Marks with their tolerance zones, services between known ends, strips along flagged metal: they are never switched off.
function knownLayers(content, panes) {
  const { known, looks } = content;
  const wide = { interactive: false, renderer: panes.zones.renderer, pane: "zones" };
  const zones = known.marks.map((mark) =>
    strip(mark.path, mark.half_zone_m, { ...wide, color: looks.lines[mark.class].colour, opacity: 0.25 }));
  const strips = known.strips.map((item) => strip(item.path, item.half_m, { ...wide, color: looks.metal, opacity: 0.25 }));
  const lines = [
    ...known.marks.map((mark) => ({ ...mark, dash: false })),
    ...known.services.filter((service) => !service.joined).map((service) => ({ ...service, dash: true })),
  ].flatMap(({ class: of, path, dash }) => [
    ...cased(path, { ...looks.lines[of], dash, pane: panes.known, looks }),
    word(looks.lines[of].word + (dash ? "?" : ""), alongOf(stretched(path)), panes.words, "known"),
  ]);
  const ends = known.services.filter((service) => service.joined).flatMap(({ path }) => path.map(([x, y]) => new Sign(place(x, y), {
    interactive: false, renderer: panes.signs.renderer, pane: "signs", shape: "circle", radius: 5, color: looks.paper, fillColor: looks.ink,
  })));
  return [...zones, ...strips, ...lines, ...ends];
}

const bandOf = ({ path, aside, half_m: half }) => {
  const side = (sign) => path.map(([x, y], k) => [x + sign * half[k] * aside[k][0], y + sign * half[k] * aside[k][1]]);
  return [...side(1), ...side(-1).reverse()];
};

// Metal lines that flags, marks and known ends tell of, with bands of doubt; beyond what tells of them they are dashed.
function metalLayers(content, panes) {
  const { metal, looks } = content;
  const flat = { interactive: false, renderer: panes.bands.renderer, pane: "bands", smoothFactor: 0 };
  return metal.flatMap((line) => line.stretches.flatMap((stretch) => {
    const look = looks.lines[line.treat_as];
    const band = L.polygon(places(bandOf(stretch)), { ...flat, stroke: false, fillColor: look.colour, fillOpacity: 0.3 });
    const parts = runsOf(stretch.between).filter(([, , told]) => line.own || !told);
    const drawn = parts.flatMap(([from, to, told]) => cased(stretch.path.slice(from, to), {
      ...look, dash: !told, pane: panes.metal, looks, slim: line.dangerous ? 0.85 : 0.62,
    }));
    const named = line.own ? [word(`${look.word} ML${line.line}`, alongOf(stretch.path), panes.words, "known")] : [];
    return [band, ...drawn, ...named];
  }));
}

// Runs of equal flags as [start, end, flag]; neighbours share a point.
function runsOf(flags) {
  const runs = [];
  let start = 0;
  for (let k = 1; k <= flags.length; k += 1) {
    if (k === flags.length || flags[k] !== flags[start]) {
      runs.push([Math.max(start - 1, 0), Math.min(k + 1, flags.length), flags[start]]);
      start = k;
    }
  }
  return runs;
}
