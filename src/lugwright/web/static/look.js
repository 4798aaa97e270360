// Light and letters, as this device wants them; kept on this device alone.

const USUAL = { light: "auto", letters: "usual" };

/** Sets the page as it was last wanted, and lets the dialog change it. */
export function look() {
  const root = document.documentElement;
  const dialog = /** @type {HTMLDialogElement} */ (document.getElementById("look-dialog"));
  for (const [name, usual] of Object.entries(USUAL)) {
    const wanted = localStorage.getItem(name) ?? usual;
    root.dataset[name] = wanted;
    for (const each of dialog.querySelectorAll(`input[name=${name}]`)) {
      const input = /** @type {HTMLInputElement} */ (each);
      input.checked = input.value === wanted;
      input.addEventListener("change", () => {
        localStorage.setItem(name, input.value);
        root.dataset[name] = input.value;
      });
    }
  }
  document.getElementById("look")?.addEventListener("click", () => dialog.showModal());
}
