// A piece of a page, as the server makes it now, put in the place of what stands there.

/** Fetches this page again and takes one piece of it; what is folded open stays open, the focus where it was.
 * @param {string} id of the piece @param {Record<string, string>} [asked] added to the address
 * @returns {Promise<boolean>} whether the server had it */
export async function refetch(id, asked = {}) {
  const address = new URL(location.href);
  for (const [name, value] of Object.entries(asked)) address.searchParams.set(name, value);
  const answer = await fetch(address).catch(() => undefined); // without a connection there is none
  if (answer?.status === 409) location.reload(); // there is another page now: one that says what is in the way
  if (!answer?.ok) return false;
  const piece = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById(id);
  const here = document.getElementById(id);
  if (!piece || !here) return false;
  for (const each of here.querySelectorAll("details[open][id]")) piece.querySelector(`#${each.id}`)?.setAttribute("open", "");
  const held = way(here);
  here.replaceWith(document.adoptNode(piece));
  if (held) /** @type {HTMLElement | undefined} */ (focusable(piece)[held.place])?.focus({ preventScroll: true });
  return true;
}

/** @param {Element} within @returns {Element[]} */
function focusable(within) {
  return [...within.querySelectorAll("a[href], button, summary, input, [tabindex]")];
}

/** Where the focus is within a piece. @param {Element} piece */
function way(piece) {
  const place = document.activeElement ? focusable(piece).indexOf(document.activeElement) : -1;
  return place < 0 ? undefined : { place };
}
