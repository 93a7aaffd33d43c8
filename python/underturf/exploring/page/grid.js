// The stored maps: one for each radius and depth. A place gets the value of the cell that it lies in.
class Grid {
  constructor(stored) {
    Object.assign(this, stored);
    this.barred = stored.barred.map(unpacked.u1);
    this.maps = stored.maps.map((map) => ({ ...map, p: unpacked.u2(map.p), mcse: unpacked.u2(map.mcse) }));
  }

  nearest(radius, depth) {
    const near = (list, value) => list.reduce((a, b) => (Math.abs(b - value) < Math.abs(a - value) ? b : a));
    const [r, d] = [near(this.radii_m, radius), near(this.depths_m, depth)];
    return this.maps.find((map) => map.radius_m === r && map.depth_m === d);
  }

  get bounds() {
    const [left, top] = [this.x0_m - this.cell_m / 2, this.y0_m + this.cell_m / 2];
    return [[top - this.rows * this.cell_m, left], [top, left + this.cols * this.cell_m]];
  }

  // What a map says of a place: "chance" with its error, or why there is none.
  at(map, x, y) {
    const row = Math.floor((this.y0_m + this.cell_m / 2 - y) / this.cell_m);
    const col = Math.floor((x - this.x0_m + this.cell_m / 2) / this.cell_m);
    if (row < 0 || col < 0 || row >= this.rows || col >= this.cols) return { state: "off" };
    const k = row * this.cols + col;
    const barred = this.barred[map.barred][k];
    if (barred) return { state: barred === 1 ? "zone" : "metal" };
    if (map.p[k] > this.steps) return { state: "out" };
    return { state: "chance", p: map.p[k] / this.steps, mcse: map.mcse[k] / this.steps };
  }
}
