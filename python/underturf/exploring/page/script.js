/* The map library Leaflet 1.9.4 is part of this script, under its licence:

$licence
*/
const underturf = (() => {
"use strict";
const L = (() => {
const exports = {}, module = { exports }, define = undefined;
$library
return exports;
})();
$own
return { open, render };
})();
