// Arrays that Python packed: base64 of little-endian bytes.
function bytesOf(text) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let k = 0; k < raw.length; k += 1) bytes[k] = raw.charCodeAt(k);
  return bytes;
}

const unpacked = {
  u1: (text) => bytesOf(text),
  u2: (text) => new Uint16Array(bytesOf(text).buffer),
  i4: (text) => new Int32Array(bytesOf(text).buffer),
};

// Makes an element. Texts become text nodes: no name in a document can be markup.
function element(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name === "on") for (const [event, call] of Object.entries(value)) made.addEventListener(event, call);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== undefined && value !== null) made.setAttribute(name, value);
  }
  made.append(...children.filter((child) => child !== null && child !== undefined));
  return made;
}
