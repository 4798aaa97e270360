// Ratings and findings: the first look stands at once, the rest is fetched; all of it again when something changes.
import { whenever } from "./link.js";
import { refetch } from "./refetch.js";

let asked = 0;

async function lookAgain() {
  const mine = ++asked;
  const stands = document.querySelector("#found > [role=status]");
  if (mine > 1 && stands) stands.textContent = "Something has changed: all of it is checked again. Below stands what was found before.";
  if (!(await refetch("found", { whole: "" })) && mine === asked && stands) {
    stands.textContent = "The other checks could not be made now. Load the page again to try once more.";
  }
}

whenever(() => void lookAgain());
