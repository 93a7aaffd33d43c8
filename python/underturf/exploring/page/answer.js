// What is told of a hole at a place: the stored chance with its error, or what counts in its place, and what lies near.
function lineDistance([x, y], path) {
  let least = path.length === 1 ? Math.hypot(x - path[0][0], y - path[0][1]) : Infinity;
  for (let k = 1; k < path.length; k += 1) {
    const [[ax, ay], [bx, by]] = [path[k - 1], path[k]];
    const [dx, dy] = [bx - ax, by - ay];
    const long = dx * dx + dy * dy;
    const s = long > 0 ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / long)) : 0;
    least = Math.min(least, Math.hypot(x - ax - s * dx, y - ay - s * dy));
  }
  return least;
}

const nearestOf = (at, items) => items
  .map((item) => ({ ...item, distance: lineDistance(at, item.path) }))
  .reduce((a, b) => (a && a.distance <= b.distance ? a : b), null);

const OUT = "No chance is given: a hole here is out of bounds. It leaves the boundary, or it meets a building, a pool or the stem of a tree.";

const COUNTS = {
  zone: "Tolerance zone: the mark counts here, not the chance. Call the one-call centre, wait for the marks, dig by hand or vacuum only.",
  metal: "Keep-off strip of flagged metal: the flags count here, not the chance. Uncover by hand first.",
  out: OUT,
  off: "Out of bounds: this place is off the map. Nothing is known of it.",
};

class Answers {
  constructor(content, grid) {
    Object.assign(this, { content, grid });
    this.known = [...content.known.marks.map((item) => ({ ...item, what: `${className(item.class)} mark` })),
      ...content.known.strips.map((item) => ({ ...item, what: `flagged metal ${item.name}` }))];
    this.lines = [...content.likely.map((line) => ({ ...line, what: `${className(line.class)}${zoneText(line.zone)}` })),
      ...content.metal.filter((line) => line.own).flatMap((line) => line.stretches.map((stretch) => ({
        ...stretch, p: line.p, what: `metal line ML${line.line}, ${line.treat_as === "unknown" ? "unknown, treat as gas" : className(line.treat_as)}`,
      })))];
  }

  of(hole) {
    const map = this.grid.nearest(hole.radius, hole.depth);
    const found = this.grid.at(map, hole.x, hole.y);
    const at = [hole.x, hole.y];
    return { ...found, map, line: nearestOf(at, this.lines), mark: nearestOf(at, this.known), digs: this.digsAt(at) };
  }

  digsAt(at) {
    return this.content.digs.filter((dig) =>
      lineDistance(at, dig.points_m) <= dig.half_width_m + 0.1 || (dig.kind === "pit" && inside(at, dig.points_m)));
  }

  brief(hole) {
    const found = this.of(hole);
    const said = found.state === "chance" ? `chance ${chanceText(found.p)}` : { zone: "tolerance zone", metal: "flagged metal" }[found.state] ?? "out of bounds";
    const near = found.line ? `; ${found.line.what}, ${this.length(found.line.distance)} away` : "";
    return said + near;
  }

  length(metres) {
    return lengthText(metres, this.content.site.units);
  }

  // Paragraphs of the answer as [class, text]: what comes first, and the rest.
  paragraphs(hole, found) {
    const { content } = this;
    const first = content.converged ? [] : [["ut-alarm", content.not_converged]];
    const { radius_m: radius, depth_m: depth } = found.map;
    if (found.state === "chance") {
      first.push(["ut-chance", `${chanceText(found.p)} chance of a strike`], ["ut-error", `Monte Carlo error ${errorText(found.mcse)}`]);
    } else first.push(["ut-counts", COUNTS[found.state]]);
    first.push(...found.digs.map((dig) => ["ut-dig", `Dig ${dig.id}: ${dig.said}. ${dig.verdict}.`]));
    const rest = [["", `Round hole, radius ${this.length(radius)}, depth ${this.length(depth)}, at x ${this.length(hole.x)}, y ${this.length(hole.y)}.`]];
    if (found.state === "chance") rest.push(["", `Counted: ${content.total}.`]);
    if (found.line) rest.push(["", `Nearest likely line: ${found.line.what}, ${this.length(found.line.distance)} from the middle of the hole; in ${chanceText(found.line.p)} of the layouts. Others may lie nearer.`]);
    if (found.mark) rest.push(["", `Nearest mark or flagged metal: ${found.mark.what}, ${this.length(found.mark.distance)} from the middle of the hole.`]);
    if (content.not_assessed.length) rest.push(["", `Not assessed, and may lie here all the same: ${content.not_assessed.map(className).join(", ")}.`]);
    rest.push(["ut-fine", `From stored maps at cell ${lengthText(this.grid.cell_m, content.site.units, 2)}: nearest stored radius and depth, value of the cell that the place lies in, not interpolated.`]);
    return [first, rest];
  }
}

function inside([x, y], outline) {
  let odd = false;
  for (let k = 0, j = outline.length - 1; k < outline.length; j = k, k += 1) {
    const [[ax, ay], [bx, by]] = [outline[k], outline[j]];
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) odd = !odd;
  }
  return odd;
}
