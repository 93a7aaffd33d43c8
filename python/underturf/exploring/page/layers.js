// The legend is the list of layers: each row shows its look, and a box to switch it off. What protects people has no box.
const SVG = "http://www.w3.org/2000/svg";

function drawing(tag, attributes, ...children) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

const sample = (...parts) =>
  drawing("svg", { width: 44, height: 20, viewBox: "0 0 44 20", "aria-hidden": "true", class: "ut-sample" }, ...parts);

const stroke = (color, width, dash) =>
  drawing("line", { x1: 2, y1: 10, x2: 42, y2: 10, stroke: color, "stroke-width": width, ...(dash ? { "stroke-dasharray": dash } : {}) });

function casedSample({ colour, core }, looks, dash) {
  return sample(stroke(looks.paper, core + 5, dash), stroke(looks.ink, core + 3, dash), stroke(colour, core, dash));
}

function likelySample(of, looks, banded = true, ground = LIKELY) {
  const weight = CORE[of] ?? 3;
  const band = drawing("rect", { x: 0, y: 3, width: 44, height: 14, fill: LIKELY, opacity: 0.22 });
  return sample(...(banded ? [band] : []), stroke(looks.paper, weight + 2.5), stroke(ground, weight, dashesOf(of, weight, looks)?.join(" ")));
}

function signSample(letter, color, fill, ink, round) {
  const shape = round
    ? drawing("circle", { cx: 22, cy: 10, r: 8, fill, stroke: color, "stroke-width": 2 })
    : drawing("rect", { x: 14, y: 2, width: 16, height: 16, fill, stroke: color, "stroke-width": 2 });
  const said = drawing("text", { x: 22, y: 14, "text-anchor": "middle", "font-size": 11, "font-weight": "bold", fill: ink });
  said.textContent = letter;
  return sample(shape, said);
}

function hatchSample(slant, looks) {
  const lines = [6, 15, 24, 33, 42, 51].map((x) => {
    const [x1, x2] = slant > 0 ? [x - 12, x + 4] : [x + 4, x - 12];
    return drawing("line", { x1, y1: 18, x2, y2: 2, stroke: looks.ink, "stroke-width": 1.5 });
  });
  return sample(drawing("rect", { x: 2, y: 2, width: 40, height: 16, fill: "#ffffff", stroke: looks.ink }), ...lines);
}

function chanceSample(looks) {
  const width = 40 / looks.scale.length;
  return sample(...looks.scale.map((fill, k) => drawing("rect", { x: 2 + k * width, y: 3, width: width + 0.2, height: 14, fill })));
}

function groundSample(looks) {
  const tree = drawing("text", { x: 35, y: 15, "text-anchor": "middle", "font-size": 14, "font-weight": "bold", fill: looks.ink });
  tree.textContent = "T";
  return sample(drawing("rect", { x: 2, y: 3, width: 24, height: 14, fill: looks.ground.building, stroke: looks.ink }), tree);
}

const unique = (list) => [...new Set(list)];

// Rows as [name for links, layers or null where always shown, [[sample, words], ...]].
function legendRows(content, layers, surface, sampled) {
  const { looks, known, likely, metal, ground } = content;
  const marks = unique(known.marks.map((mark) => mark.class));
  const services = unique(known.services.filter((service) => !service.joined).map((service) => service.class));
  const hatches = [
    [hatchSample(1, looks), "tolerance zone: the mark counts, not the chance"],
    ...(known.strips.length ? [[hatchSample(-1, looks), "flagged metal: uncover by hand first"]] : []),
  ];
  const zones = [...ground.zones, ...(ground.heads.some((head) => head.zone === null) ? [null] : [])];
  return [
    ["chance", [surface.chances], [[chanceSample(looks), "chance of a strike, from <0.1 % (light) to >99.9 % (dark)"]]],
    [null, null, [...hatches, [sample(drawing("rect", { x: 3, y: 3, width: 38, height: 14, fill: looks.grass, stroke: looks.ink })), "no colour: out of bounds for this hole"]]],
    [null, null, [
      ...marks.map((of) => [casedSample(looks.lines[of], looks), `mark: ${className(of)}, with its tolerance zone`]),
      ...services.map((of) => [casedSample(looks.lines[of], looks, "12 9"), `${className(of)} service, course not known`]),
    ]],
    [null, null, metal.length
      ? unique(metal.map((line) => line.treat_as)).map((of) => [
        casedSample({ ...looks.lines[of], core: 2.6 }, looks), `metal line: ${of === "unknown" ? "unknown, treat as gas" : className(of)}, with its band of doubt`])
      : []],
    ["likely", layers.likely, unique(likely.map((line) => line.class)).map((of) => [
      likelySample(of, looks), `likely ${className(of)}, with its band of doubt`])],
    ["sampled", [sampled.group], sampled.numbers.length ? [[likelySample("lateral", looks, false, looks.ink), "one sampled layout"]] : []],
    ["heads", layers.heads, zones.map((zone) => {
      const { color, letter } = zoneLook(zone, content);
      return [signSample(letter, color, looks.paper, looks.ink, true), zone === null ? "head, zone unknown" : `head of zone ${zone}`];
    })],
    ["fixtures", layers.fixtures, unique(ground.fixtures.map((item) => item.kind)).map((kind) => [
      signSample(LETTERS[kind] ?? "", looks.ink, kind === "valve box" ? "#d9d9d9" : looks.paper, looks.ink), looks.fixtures[kind]])],
    ["found", [...layers.found, ...layers.flags], [
      ...(ground.probes.length ? [[signSample("X", looks.probe, looks.paper, looks.ink), "probe: X found a line, - found none"]] : []),
      ...(ground.flags.length ? [[sample(drawing("path", { d: "M22 3 L29 16 L15 16 Z", fill: looks.ink })), "detector flag"]] : []),
      ...(ground.swept.length ? [[sample(stroke(looks.swept, 1.5, "8 3 2 3")), "ground swept with a detector"]] : []),
      ...(ground.sketches.length ? [[sample(stroke(looks.sketch, 2, "2 4")), "line of an old drawing"]] : []),
    ]],
    ["ground", [...layers.obstacles, ...layers.trees], ground.obstacles.length + ground.trees.length
      ? [[groundSample(looks), "building, paving, pool, bed; T: standing tree"]] : []],
    ["digs", layers.digs, content.digs.length
      ? [[sample(drawing("circle", { cx: 22, cy: 10, r: 8, fill: "none", stroke: looks.dig, "stroke-width": 2.5 })), "proposed dig"]] : []],
  ].filter(([, , looked]) => looked.length);
}

class Layers {
  constructor(map, rows, onChange) {
    Object.assign(this, { map, onChange, boxes: new Map() });
    this.list = element("ul", { class: "ut-legend" });
    for (const [name, group, looked] of rows) this.list.append(this.row(name, group, looked));
  }

  row(name, group, looked) {
    const looks = looked.map(([shown, words]) => element("span", { class: "ut-look" }, shown, element("span", {}, words)));
    if (name === null) return element("li", { class: "ut-fixed" }, element("div", { class: "ut-looks" }, ...looks));
    const box = element("input", { type: "checkbox", "data-layer": name, on: { change: () => this.set(name, box.checked) } });
    this.boxes.set(name, { box, group: L.layerGroup(group) });
    return element("li", {}, element("label", {}, box, element("div", { class: "ut-looks" }, ...looks)));
  }

  set(name, shown, quiet = false) {
    const row = this.boxes.get(name);
    if (!row) return;
    row.box.checked = shown;
    if (shown) row.group.addTo(this.map);
    else row.group.remove();
    if (!quiet) this.onChange();
  }

  get shown() {
    return [...this.boxes].filter(([, row]) => row.box.checked).map(([name]) => name);
  }
}
