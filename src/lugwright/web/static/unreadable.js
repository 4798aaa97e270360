// A build file that cannot be read: look again when it has been saved, also if that was before this page could hear of it.
import { on } from "./link.js";

async function lookAgain() {
  const answer = await fetch(location.href).catch(() => undefined);
  if (answer?.ok) location.reload();
}

on("changed", (message) => {
  if (message.kind === "file") location.reload();
  else void lookAgain();
});
void lookAgain();
