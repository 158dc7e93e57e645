// Keys of the sheet. Which key does what stands in the help on the page (`data-key`, `data-act`); they act only while the sheet
// itself has the focus, and the switch turns them off for good.
import { focusRow } from "./sheet_swap.js";

const SWITCH = "sheet-keys";
const TYPING = "input, select, textarea, [contenteditable]";
const PRESSED = "a, button, summary, input, select, textarea";

function remembered(name) {
  try {
    return localStorage.getItem(name);
  } catch {
    return null;
  }
}

function remember(name, value) {
  try {
    localStorage.setItem(name, value);
  } catch {
    // it holds until the page is left
  }
}

export function setUpKeys(sheet, help, line) {
  const acts = new Map([...help.querySelectorAll("[data-key]")].map((row) => [row.dataset.key, row.dataset.act]));
  const button = document.querySelector("[data-keys-switch]");
  let on = remembered(SWITCH) !== "off";
  const show = () => button.setAttribute("aria-pressed", String(on));
  show();
  button.addEventListener("click", () => {
    on = !on;
    remember(SWITCH, on ? "on" : "off");
    show();
  });

  const open = () => help.showModal();
  document.querySelector("[data-help]").addEventListener("click", open);
  help.querySelector("[data-close-help]").addEventListener("click", () => help.close());

  const doing = {
    down: () => focusRow(line.step(1)),
    up: () => focusRow(line.step(-1)),
    next: () => focusRow(line.next()),
    line: () => line.focus(),
    find: () => line.focus(),
    undo: () => line.undo(),
    help: open,
  };

  sheet.addEventListener("keydown", (event) => {
    if (!on || event.ctrlKey || event.metaKey || event.altKey || event.target.closest(TYPING)) return;
    const act = acts.get(event.key.length === 1 ? event.key.toLowerCase() : event.key);
    if (!act || (event.key === "Enter" && event.target.closest(PRESSED))) return;
    event.preventDefault();
    const row = event.target.closest("tr[data-row]");
    if (row && row !== line.row()) line.stand(row);
    if (act.startsWith("mark-")) line.mark(act.slice("mark-".length));
    else doing[act]?.();
  });
  sheet.addEventListener("click", (event) => {
    const row = event.target.closest("tr[data-row]");
    if (!row || event.target.closest(PRESSED) || !getSelection().isCollapsed) return;
    line.stand(row);
    focusRow(row);
  });
}

// A button that keeps its state in this browser: pressed or not, and what that changes on the page.
export function setUpSwitch(button, name, show) {
  const set = (pressed) => {
    button.setAttribute("aria-pressed", String(pressed));
    show(pressed);
  };
  set(remembered(name) === "on");
  button.addEventListener("click", () => {
    const pressed = button.getAttribute("aria-pressed") !== "true";
    remember(name, pressed ? "on" : "off");
    set(pressed);
  });
}
