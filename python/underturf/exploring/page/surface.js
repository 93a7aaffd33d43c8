// The stored map as coloured cells, and the hatched ground where no chance counts.
const MOST_PIXELS = 4e6;
const HATCH_PX = 9;

class Surface {
  constructor(content, grid, map) {
    Object.assign(this, { grid, map, looks: content.looks });
    this.cells = element("canvas", { width: grid.cols, height: grid.rows, class: "ut-cells" });
    this.fine = Math.max(2, Math.min(8, Math.floor(Math.sqrt(MOST_PIXELS / (grid.rows * grid.cols)))));
    this.hatch = element("canvas", { width: grid.cols * this.fine, height: grid.rows * this.fine });
    this.colours = scaleOf(content.looks.scale);
    this.chances = L.svgOverlay(this.cells, grid.bounds, { pane: "surface" });
    this.barred = L.svgOverlay(this.hatch, grid.bounds, { pane: "barred" });
    map.on("zoomend", () => this.drawHatch());
  }

  show(of) {
    this.of = of;
    const { rows, cols, steps } = this.grid;
    const image = new ImageData(cols, rows);
    for (let k = 0; k < rows * cols; k += 1) {
      if (of.p[k] > steps) continue;
      image.data.set(this.colours[Math.round((255 * of.p[k]) / steps)], 4 * k);
    }
    this.cells.getContext("2d").putImageData(image, 0, 0);
    this.drawHatch();
  }

  drawHatch() {
    const c = this.hatch.getContext("2d");
    c.clearRect(0, 0, this.hatch.width, this.hatch.height);
    const pixel = this.fine / (this.grid.cell_m * this.map.options.crs.scale(this.map.getZoom()));
    [1, 2].forEach((kind) => this.drawKind(c, kind, pixel));
  }

  // Slants one way in tolerance zones and the other way on flagged metal, so that they differ without colour.
  drawKind(c, kind, pixel) {
    const { width, height } = this.hatch;
    c.save();
    if (!this.clip(c, kind)) return void c.restore();
    c.fillStyle = "rgba(255,255,255,0.55)";
    c.fillRect(0, 0, width, height);
    c.strokeStyle = this.looks.ink;
    c.lineWidth = Math.max(1.3 * pixel, 0.6);
    c.beginPath();
    const step = Math.max(HATCH_PX * pixel, 3);
    for (let x = -height; x < width; x += step) {
      const [from, to] = kind === 1 ? [x, x + height] : [x + height, x];
      c.moveTo(from, height);
      c.lineTo(to, 0);
    }
    c.stroke();
    c.restore();
  }

  clip(c, kind) {
    const barred = this.grid.barred[this.of.barred];
    const { rows, cols } = this.grid;
    const path = new Path2D();
    let any = false;
    for (let row = 0; row < rows; row += 1) {
      for (let col = 0; col < cols; col += 1) {
        let end = col;
        while (end < cols && barred[row * cols + end] === kind) end += 1;
        if (end > col) {
          path.rect(col * this.fine, row * this.fine, (end - col) * this.fine, this.fine);
          any = true;
          col = end;
        }
      }
    }
    c.clip(path);
    return any;
  }
}

// 256 colours, opaque, between the stops of the scale.
function scaleOf(stops) {
  const parts = stops.map((hex) => [1, 3, 5].map((k) => parseInt(hex.slice(k, k + 2), 16)));
  return Array.from({ length: 256 }, (_, k) => {
    const at = (k / 255) * (stops.length - 1);
    const low = Math.min(Math.floor(at), stops.length - 2);
    return [...parts[low].map((value, j) => Math.round(value + (at - low) * (parts[low + 1][j] - value))), 255];
  });
}
