// The search field in the head. The key / brings the focus there; whoever wants the key for something else (a screen reader, speech)
// switches it off on the search page, for this browser. On a page with [data-sheet] the sheet has the key.
// What was found while typing closes when the focus goes elsewhere, so that it never lies over what has it.
const KEY = "search-key";
const field = document.getElementById("band-q");
const TYPED_INTO = "input, textarea, select, [contenteditable], dialog[open] *";

function isOn() {
  try {
    return localStorage.getItem(KEY) !== "off";
  } catch {
    return true; // storage may be switched off
  }
}

function isForTheField(event) {
  if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey || event.repeat || event.defaultPrevented) return false;
  return isOn() && !event.target.closest?.(TYPED_INTO) && !document.querySelector("[data-sheet], dialog[open]");
}

if (field) {
  document.addEventListener("keydown", (event) => {
    if (!isForTheField(event)) return;
    event.preventDefault();
    field.focus();
    field.select();
  });
  const form = field.closest("form");
  const found = document.getElementById("band-found");
  // A press on a line keeps the focus in the field: some browsers give links none, and the line would be gone before the click.
  found?.addEventListener("mousedown", (event) => event.preventDefault());
  form.addEventListener("focusout", (event) => {
    if (!form.contains(event.relatedTarget)) found?.replaceChildren();
  });
}

for (const line of document.querySelectorAll("[data-search-key]")) {
  const button = line.querySelector("button");
  const show = () => (button.textContent = isOn() ? "Switch it off" : "Switch it on");
  line.hidden = false;
  show();
  button.addEventListener("click", () => {
    try {
      localStorage.setItem(KEY, isOn() ? "off" : "on");
    } catch {
      // nothing to keep it in
    }
    show();
  });
}
