// A build file that cannot be read: look again when it has been saved.
import { on } from "./link.js";

on("changed", (message) => {
  if (message.kind === "file") location.reload();
});
