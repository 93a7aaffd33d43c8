// The hole that is asked about, the layout that is shown, and the link to both: #tap=x,y&radius=r&depth=d&layers=a,b&draw=n, in metres.
function readLink(text) {
  const found = new URLSearchParams(text.replace(/^#/, ""));
  const number = (name) => (found.has(name) && Number.isFinite(Number(found.get(name))) ? Number(found.get(name)) : undefined);
  const tap = (found.get("tap") ?? "").split(",").map(Number);
  return {
    tap: tap.length === 2 && tap.every(Number.isFinite) ? tap : undefined,
    radius: number("radius"),
    depth: number("depth"),
    draw: number("draw"),
    layers: found.has("layers") ? found.get("layers").split(",") : undefined,
  };
}

function writeLink({ hole, layers, draw }) {
  const parts = hole.x === undefined ? [] : [`tap=${hole.x.toFixed(3)},${hole.y.toFixed(3)}`];
  parts.push(`radius=${hole.radius}`, `depth=${hole.depth}`, `layers=${layers.join(",")}`);
  if (layers.includes("sampled")) parts.push(`draw=${draw}`);
  return `#${parts.join("&")}`;
}

// One button for each stored length; one of them is pressed.
class Choice {
  constructor(name, label, values, words, onChoose) {
    this.buttons = values.map((value) => [value, element("button", {
      type: "button", "data-choice": name, "data-value": value, on: { click: () => { this.value = value; onChoose(); } },
    }, words(value))]);
    this.box = element("div", { class: "ut-choice", role: "group", "aria-label": label }, element("span", {}, label),
      element("div", {}, ...this.buttons.map(([, button]) => button)));
    this.value = values[Math.min(1, values.length - 1)];
  }

  set value(chosen) {
    this.chosen = chosen;
    for (const [value, button] of this.buttons) button.setAttribute("aria-pressed", String(value === chosen));
  }

  get value() {
    return this.chosen;
  }
}
