// Light and letters as this device last wanted them, before anything is drawn; the dialog is in look.js.
for (const name of ["light", "letters"]) {
  const wanted = localStorage.getItem(name);
  if (wanted) document.documentElement.dataset[name] = wanted;
}
