// Words on the map. Each has places to choose from; where words would overlap, the more important one stands.
const RANKS = { known: 0, dig: 1, line: 2, ground: 3 };

function word(text, points, pane, kind) {
  const span = element("span", {}, text);
  const icon = L.divIcon({ className: `ut-word ut-word-${kind}`, iconSize: null, html: span });
  const marker = L.marker(place(...points[0]), { icon, pane: pane.name, interactive: false, keyboard: false });
  return Object.assign(marker, { utWord: { span, points, rank: RANKS[kind] } });
}

const apart = (a, b) => a.x1 < b.x0 || b.x1 < a.x0 || a.y1 < b.y0 || b.y1 < a.y0;

// Chooses the place of every word in view. Known lines and digs are always named, others where there is room.
function placeWords(map) {
  const found = [];
  map.eachLayer((layer) => { if (layer.utWord) found.push(layer); });
  found.sort((a, b) => a.utWord.rank - b.utWord.rank);
  const taken = [];
  for (const marker of found) {
    const { span, points, rank } = marker.utWord;
    span.hidden = false;
    const [w, h] = [span.offsetWidth / 2 + 2, span.offsetHeight / 2 + 1];
    const boxes = points.map(([x, y, dx = 0, dy = 0]) => {
      const at = map.latLngToContainerPoint(place(x, y)).add([dx, dy]);
      return { x0: at.x - w, x1: at.x + w, y0: at.y - h, y1: at.y + h };
    });
    const k = boxes.findIndex((box) => taken.every((other) => apart(box, other)));
    const chosen = Math.max(k, 0);
    span.hidden = k < 0 && rank > RANKS.dig;
    if (span.hidden) continue;
    const [x, y, dx = 0, dy = 0] = points[chosen];
    marker.setLatLng(place(x, y));
    span.style.translate = `${dx}px ${dy}px`;
    taken.push(boxes[chosen]);
  }
}

// Places along a path for a word: its middle, then nearer to either end.
const alongOf = (path) => [0.5, 0.3, 0.7, 0.15, 0.85].map((share) => atShare(path, share));

// Places about a point: above, below, to either side.
const aboutOf = ([x, y]) => [[x, y, 0, -22], [x, y, 0, 22], [x, y, 48, 0], [x, y, -48, 0]];

// The place at a share of a path's length.
function atShare(path, share) {
  const parts = path.slice(1).map((b, k) => Math.hypot(b[0] - path[k][0], b[1] - path[k][1]));
  let left = share * parts.reduce((a, b) => a + b, 0);
  for (let k = 0; k < parts.length; k += 1) {
    if (left <= parts[k] && parts[k] > 0) {
      const s = left / parts[k];
      return [path[k][0] + s * (path[k + 1][0] - path[k][0]), path[k][1] + s * (path[k + 1][1] - path[k][1])];
    }
    left -= parts[k];
  }
  return path[path.length - 1];
}
