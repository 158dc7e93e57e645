// The change log sheet at the bench. Without this script the line is a plain form and every row has its link.
import { setUpKeys, setUpSwitch } from "./sheet_keys.js";
import { LineBar } from "./sheet_line.js";

const bar = document.querySelector("[data-line-bar]");
const sheet = document.querySelector("[data-sheet]");

// The bar's height keeps focused rows from standing under it.
function measure(part) {
  const set = () => document.documentElement.style.setProperty("--line-bar", `${part.offsetHeight}px`);
  new ResizeObserver(set).observe(part);
  set();
}

if (bar && sheet) {
  measure(bar);
  const line = new LineBar(bar);
  setUpKeys(sheet, document.querySelector("[data-sheet-help]"), line);
  setUpSwitch(document.querySelector("[data-large-type]"), "sheet-large", (on) => document.documentElement.classList.toggle("large-type", on));
  setUpSwitch(document.querySelector("[data-letters-switch]"), "sheet-letters", (on) => {
    document.querySelector("[data-line-letters]").hidden = !on;
  });
  document.querySelector("[data-sheet-tools]").hidden = false;
  // A hash or a refusal wants the eye elsewhere; on a touch screen the keyboard would cover half of the sheet.
  const free = !location.hash || location.hash === "#line";
  if (free && !matchMedia("(pointer: coarse)").matches && document.activeElement === document.body) line.focus();
}
