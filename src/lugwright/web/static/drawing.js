// A drawing that the server made, as an element. It is read as SVG, so what is no SVG shows nothing.

/** @param {string} text @returns {Element} */
export function drawing(text) {
  const read = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  if (read.nodeName !== "svg") return document.createElement("span");
  const title = read.querySelector(":scope > title")?.textContent;
  read.setAttribute("role", "img");
  if (title) read.setAttribute("aria-label", title);
  return document.importNode(read, true);
}
