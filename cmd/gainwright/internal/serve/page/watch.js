// Loads the page again when the scene was compiled anew, and says when it cannot be.
// Served only to pages of a scene that is being worked on.
"use strict";

{
  const build = document.currentScript.dataset.build;
  const note = document.createElement("p");
  note.id = "changes";
  note.setAttribute("role", "status");
  const tell = (text, bad) => {
    note.textContent = text;
    note.classList.toggle("bad", Boolean(bad));
    if (text && !note.isConnected) document.body.append(note);
    if (!text) note.remove();
  };
  const changes = new EventSource("changes");
  changes.addEventListener("built", e => {
    if (e.data !== build) location.reload();
    tell("");
  });
  changes.addEventListener("busy", () => tell("The source has changed: compiling…"));
  changes.addEventListener("fault", e => tell("This is the old scene. " + JSON.parse(e.data), true));
}
