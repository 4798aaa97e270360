// Ratings and findings: the first look stands at once, the rest is fetched; all of it again when something changes.
import { whenever } from "./link.js";
import { refetch } from "./refetch.js";

let asked = 0;

async function lookAgain() {
  const mine = ++asked;
  if (mine > 1) await refetch("found");
  if (mine === asked) await refetch("found", { whole: "" });
}

whenever(() => void lookAgain());
