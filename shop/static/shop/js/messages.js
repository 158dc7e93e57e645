// What stands in a page from its beginning is often not read out: it is said once more, a moment later, into a place of its own.
// Escape closes the newest note, while nothing is being typed. Notes stay until somebody closes them; no time runs out.
const SAY_MS = 400;
const place = document.querySelector("[data-say-again]");
const notes = () => [...document.querySelectorAll("#messages .message[open]")];

if (place) {
  setTimeout(() => {
    place.textContent = notes()
      .map((note) => `${note.querySelector("p").textContent}${note.matches(".message-undo") ? " It can be undone." : ""}`)
      .join(" ");
  }, SAY_MS);
}
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape" || event.defaultPrevented || event.target.matches("input, textarea, select")) return;
  notes().at(-1)?.close();
});
