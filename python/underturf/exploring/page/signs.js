// Small things that Leaflet has no layer for: signs of one size with a letter in them, strips as wide as on the ground.
const place = (x, y) => L.latLng(y, x);
const SIGN_PX = window.matchMedia("(max-width: 799px)").matches ? 10 : 8;
const places = (path) => path.map(([x, y]) => place(x, y));

const SHAPES = {
  circle: (c, r) => c.arc(0, 0, r, 0, 2 * Math.PI),
  square: (c, r) => c.rect(-r, -r, 2 * r, 2 * r),
  triangle: (c, r) => { c.moveTo(0, -r); c.lineTo(r, r * 0.8); c.lineTo(-r, r * 0.8); c.closePath(); },
  diamond: (c, r) => { c.moveTo(0, -r); c.lineTo(r, 0); c.lineTo(0, r); c.lineTo(-r, 0); c.closePath(); },
  plus: (c, r) => {
    const s = r / 3;
    [[-s, -r], [s, -r], [s, -s], [r, -s], [r, s], [s, s], [s, r], [-s, r], [-s, s], [-r, s], [-r, -s], [-s, -s]]
      .forEach(([x, y]) => c.lineTo(x, y));
    c.closePath();
  },
};

function drawSign(c, at, { shape, radius, color, fillColor, letter, ink }) {
  c.save();
  c.translate(at.x, at.y);
  c.beginPath();
  SHAPES[shape](c, radius);
  c.fillStyle = fillColor;
  c.fill();
  c.lineWidth = 2;
  c.strokeStyle = color;
  c.stroke();
  if (letter && letter.length < 4) {
    c.fillStyle = ink;
    c.font = `bold ${Math.round(radius * (letter.length < 2 ? 1.4 : 1.1))}px sans-serif`;
    c.textAlign = "center";
    c.textBaseline = "middle";
    c.fillText(letter, 0, 0.5);
  }
  c.restore();
}

const Sign = L.CircleMarker.extend({
  _updatePath() {
    if (this._renderer._drawing && !this._empty()) drawSign(this._renderer._ctx, this._point, this.options);
  },
});

// A line whose width is metres of ground.
const Strip = L.Polyline.extend({
  _project() {
    this.options.weight = Math.max(this.options.wide * this._map.options.crs.scale(this._map.getZoom()), 1);
    L.Polyline.prototype._project.call(this);
  },
});

// One point alone has no length that a canvas would stroke.
const stretched = (path) => (path.length > 1 ? path : [path[0], [path[0][0] + 0.001, path[0][1]]]);

function strip(path, half, look) {
  const ends = { wide: 2 * half, lineCap: "round", lineJoin: "round", smoothFactor: 0, noClip: true };
  return new Strip(places(stretched(path)), { ...ends, ...look });
}

// A line within a dark casing and a light rim: it stands out on light and dark cells, in colour and in grey.
function cased(path, { colour, core, dash, pane, looks, slim = 1 }) {
  const shared = { interactive: false, smoothFactor: 0, renderer: pane.renderer, pane: pane.name };
  const wide = core * slim;
  const dashes = dash ? { dashArray: [3 * wide, 3 * wide], lineCap: "butt" } : {};
  return [[looks.paper, wide + 5], [looks.ink, wide + 3], [colour, wide]].map(([color, weight]) =>
    L.polyline(places(stretched(path)), { ...shared, ...dashes, color, weight, opacity: 1 }));
}
