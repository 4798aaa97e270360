// Puts newly made HTML in the place of older, and leaves alone what is the same: what is being typed, opened, looked at.

/** Makes the inside of an element as this HTML has it. Elements with `data-key` are known again wherever they move.
 * @param {Element} host @param {string} html made and escaped by the server */
export function renew(host, html) {
  const made = document.createElement("template");
  made.innerHTML = html;
  const held = document.activeElement;
  renewInside(host, made.content);
  if (held instanceof HTMLElement && held !== document.activeElement && host.contains(held)) held.focus();
}

/** @param {ParentNode & Node} old @param {ParentNode & Node} wanted */
function renewInside(old, wanted) {
  /** @type {Map<string, Element>} */
  const known = new Map();
  for (const each of old.children) if (key(each)) known.set(key(each), each);
  /** @type {ChildNode | null} */
  let at = told(old.firstChild);
  for (const want of [...wanted.childNodes]) {
    const found = key(want) ? known.get(key(want)) : alike(at, want) ? at : null;
    if (!found) {
      old.insertBefore(want, at);
      continue;
    }
    if (found === at) at = told(at.nextSibling);
    else old.insertBefore(found, at);
    renewOne(found, want);
  }
  while (at) {
    const next = told(at.nextSibling);
    at.remove();
    at = next;
  }
}

/** Returns the next node that the server told of: what the page itself has put there, `data-ours`, is passed by.
 * @param {ChildNode | null} node @returns {ChildNode | null} */
function told(node) {
  while (node instanceof HTMLElement && node.dataset.ours !== undefined) node = node.nextSibling;
  return node;
}

/** @param {Node} old @param {Node} wanted */
function renewOne(old, wanted) {
  if (!(old instanceof Element) || !(wanted instanceof Element)) {
    if (old.nodeValue !== wanted.nodeValue) old.nodeValue = wanted.nodeValue;
    return;
  }
  for (const { name } of [...old.attributes]) {
    if (!wanted.hasAttribute(name) && !ours(old, name)) old.removeAttribute(name);
  }
  for (const { name, value } of wanted.attributes) {
    if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
  renewInside(old, wanted);
}

/** Whether the page itself sets this, not the server: what is unfolded. @param {Element} element @param {string} name */
function ours(element, name) {
  return name === "open" && element instanceof HTMLDetailsElement;
}

/** @param {Node} node */
function key(node) {
  return node instanceof HTMLElement ? node.dataset.key ?? node.id : "";
}

/** @param {Node | null} one @param {Node} other */
function alike(one, other) {
  return one !== null && one.nodeName === other.nodeName && !key(one);
}
