// The page around the map: head, panel, cautions that are always in view, footer.
function alarmOf(content) {
  return content.converged ? null : element("p", { class: "ut-alarm" }, content.not_converged);
}

function cautionsOf(content) {
  const [first, ...rest] = content.cautions;
  return element("aside", { class: "ut-cautions", "aria-label": "cautions", tabindex: "0" },
    element("strong", {}, first), ...rest.flatMap((caution) => [" ", element("span", {}, caution)]));
}

function northArrow(content) {
  const turned = -content.site.y_azimuth_deg;
  const arrow = drawing("svg", { viewBox: "-30 -30 60 60", width: 60, height: 60, role: "img", "aria-label": "north" },
    drawing("g", { transform: `rotate(${turned})` },
      drawing("path", { d: "M0 -16 L7 14 L0 9 L-7 14 Z", fill: "#1f1f1f", stroke: "#ffffff", "stroke-width": 1.5 })));
  const angle = ((turned - 90) * Math.PI) / 180;
  const letter = drawing("text", {
    x: 23 * Math.cos(angle), y: 23 * Math.sin(angle) + 4, "text-anchor": "middle", "font-size": 14, "font-weight": "bold",
    stroke: "#ffffff", "stroke-width": 3, "paint-order": "stroke", fill: "#1f1f1f",
  });
  letter.textContent = "N";
  arrow.append(letter);
  return arrow;
}

function section(title, open, ...children) {
  return element("details", { class: "ut-section", open }, element("summary", {}, title), ...children);
}

function digTable(content, goTo) {
  const rows = content.digs.map((dig) => element("li", {},
    element("button", { type: "button", on: { click: () => goTo(dig) } }, dig.id), element("span", {}, `${dig.said}. ${dig.verdict}.`)));
  return element("ul", { class: "ut-digs" }, ...rows);
}

function aboutList(content, grid) {
  const units = content.site.units;
  const each = (list) => list.map((value) => lengthText(value, units)).join(", ");
  const said = [
    `Chance: ${content.total}. Classes assessed: ${content.assessed.map(className).join(", ") || "none"}.`,
    `Not assessed: ${content.not_assessed.map(className).join(", ") || "none"}. A class that is not assessed may lie here all the same.`,
    `From stored maps at cell ${lengthText(grid.cell_m, units, 2)}, radii ${each(grid.radii_m)}, depths ${each(grid.depths_m)}: nearest stored radius and depth, value of the cell, not interpolated.`,
    "Light ground is less likely to hold a line. It may hold one all the same. The least of many chances is too low: dig by hand first where you chose the lightest place.",
    ...(content.metal_converged ? [] : ["The chains over metal lines do not agree: do not rely on their courses."]),
    ...content.warnings,
  ];
  return element("ul", { class: "ut-about" }, ...said.map((text) => element("li", {}, text)));
}

function footerOf(content) {
  return element("footer", {}, `underturf ${content.version}, ${content.draws} draws, seed ${content.seed}`
    + `${content.converged ? "" : `. ${content.not_converged}`}. Map drawn with Leaflet 1.9.4 (BSD-2-Clause).`);
}
