// Lines that nobody has seen: likely lines as bands of doubt, and the layouts one by one. Classes differ by their dashes.
const LIKELY = "#2f5bb0";
const CORE = { lateral: 2.5, mainline: 3.5, potable: 3.5, reclaimed: 3.5, control_wire: 2.5 };

function dashesOf(of, weight, looks) {
  const written = looks.dashes[of] ?? looks.dashes.unknown;
  return written ? written.split(" ").map((part) => Number(part) * weight) : null;
}

function likelyLayers(content, panes) {
  const { looks } = content;
  const flat = { interactive: false, smoothFactor: 0 };
  const named = new Set();
  return content.likely.filter((line) => line.path.length > 1).flatMap((line) => {
    const weight = CORE[line.class] ?? 3;
    const stroke = { ...flat, renderer: panes.likely.renderer, pane: "likely", lineCap: "butt" };
    const key = `${line.class}/${line.zone}`;
    const words = named.has(key) ? [] : [word(line.zone, alongOf(line.path), panes.words, "line")];
    named.add(key);
    return [
      L.polygon(places(bandOf(line)), {
        ...flat, renderer: panes.bands.renderer, pane: "bands", stroke: false, fillColor: LIKELY, fillOpacity: 0.22,
      }),
      L.polyline(places(line.path), { ...stroke, color: looks.paper, weight: weight + 2.5, opacity: 0.9 }),
      L.polyline(places(line.path), { ...stroke, color: LIKELY, weight, dashArray: dashesOf(line.class, weight, looks) }),
      ...words,
    ];
  });
}

// Shows one stored layout at a time.
class Sampled {
  constructor(content, panes) {
    const stored = content.sampled;
    Object.assign(this, { looks: content.looks, pane: panes.sampled, numbers: stored.draws, starts: stored.starts });
    this.xy = unpacked.i4(stored.xy);
    this.of = unpacked.u1(stored.class);
    this.classes = stored.classes;
    this.group = L.layerGroup();
  }

  show(k) {
    this.group.clearLayers();
    const byClass = new Map();
    for (let j = this.starts[k]; j < this.starts[k + 1]; j += 1) {
      const [x0, y0, x1, y1] = this.xy.subarray(4 * j, 4 * j + 4);
      const pieces = byClass.get(this.of[j]) ?? byClass.set(this.of[j], []).get(this.of[j]);
      pieces.push([place(x0 / 1000, y0 / 1000), place(x1 / 1000, y1 / 1000)]);
    }
    const stroke = { interactive: false, renderer: this.pane.renderer, pane: "sampled", smoothFactor: 0, lineCap: "butt" };
    for (const [code, pieces] of byClass) {
      const of = this.classes[code];
      const weight = of === "lateral" ? 2.5 : 3.5;
      const colour = of === "lateral" ? this.looks.ink : this.looks.lines[of]?.colour ?? this.looks.ink;
      this.group.addLayer(L.polyline(pieces, { ...stroke, color: this.looks.paper, weight: weight + 2 }));
      this.group.addLayer(L.polyline(pieces, { ...stroke, color: colour, weight, dashArray: dashesOf(of, weight, this.looks) }));
    }
  }
}
