// Parts and cut list: printed, and made again when the file or the plan changes.
import { on } from "./link.js";
import { refetch } from "./refetch.js";

document.addEventListener("click", (event) => {
  if (event.target instanceof HTMLElement && event.target.id === "print") print();
});
on("changed", (message) => {
  if (message.kind === "file" || message.kind === "plan") void refetch("tables");
});
