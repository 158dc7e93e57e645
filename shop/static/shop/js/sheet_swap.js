// Puts the changed pieces of the sheet in their places: rows by their number, and whatever has `data-swap` by its id.
// Scroll stays as it is, focus stays on the row or goes to where `fallback` says.
export function readChanges(html) {
  return new DOMParser().parseFromString(html, "text/html").querySelector("[data-answer]");
}

export function apply(changes, fallback) {
  const focused = document.activeElement;
  const inPiece = focused?.closest("[data-swap]");
  const inRow = focused?.closest("tr[data-row]")?.id;
  for (const row of changes.querySelectorAll("[data-rows] > tr[data-row]")) put(row);
  for (const piece of changes.querySelectorAll("[data-swap]")) put(piece);
  for (const row of document.querySelectorAll("tr[data-row]")) row.classList.toggle("is-next", row.dataset.row === changes.dataset.next);
  if (inRow && !focused.isConnected) focusRow(document.getElementById(inRow));
  else if (inPiece && !focused.isConnected) fallback();
}

function put(piece) {
  const old = document.getElementById(piece.id);
  if (!old) return;
  const here = old.classList.contains("is-here");
  old.replaceWith(piece);
  piece.classList.toggle("is-here", here);
  window.htmx?.process(piece);
}

export function focusRow(row) {
  if (!row) return;
  row.tabIndex = -1;
  row.focus({ preventScroll: true });
  row.scrollIntoView({ block: "nearest", inline: "nearest" });
}
