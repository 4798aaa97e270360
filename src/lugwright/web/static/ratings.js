// Ratings and findings: the first look stands at once, the rest is fetched; all of it again when something changes.
import { on, whenever } from "./link.js";
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

/** Says how far the checks are, behind what stands there. @param {string} words */
function sayHowFar(words) {
  const stands = document.querySelector("#found > [role=status]");
  const place = stands?.querySelector(".how-far") ?? document.createElement("span");
  place.className = "how-far";
  place.textContent = words;
  stands?.append(" ", place);
}

on("waits", (message) => message.what === "all checks" && sayHowFar(message.for ? `They wait for ${message.for}.` : ""));
on("progress", (message) => message.what === "all checks" && sayHowFar(`Now: ${message.words}.`));
whenever(() => void lookAgain());
