// Chances, lengths and names as Python writes them: never 0 % or 100 %, lengths in the units of the document.
const LEAST_SHOWN = 0.001;

function chanceText(p) {
  if (p < LEAST_SHOWN) return "<0.1 %";
  if (p > 1 - LEAST_SHOWN) return ">99.9 %";
  const percent = 100 * p;
  return percent < 9.95 || percent > 99 ? `${percent.toFixed(1)} %` : `${percent.toFixed(0)} %`;
}

// A Monte Carlo error in points of a percentage.
function errorText(mcse) {
  return `${Math.max(100 * mcse, 0.1).toFixed(1)} points`;
}

function lengthText(metres, units, digits) {
  return units === "ft"
    ? `${(metres / 0.3048).toFixed(digits ?? 1)} ft`
    : `${metres.toFixed(digits ?? 2)} m`;
}

const className = (of) => of.replaceAll("_", " ");

const zoneText = (zone) => (zone && zone !== "mainline" && zone !== "potable" ? `, ${zone}` : "");
