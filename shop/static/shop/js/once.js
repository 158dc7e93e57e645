// A form that was just sent is not sent again by a second click. The server acts once anyway (hidden `once`); this saves the wait.
// The hold ends by itself: when the page comes back from history, when htmx is done, or after HOLD_MS (a download, a lost network).
const HOLD_MS = 8000;
const held = new Map();

function hold(form, buttons) {
  for (const button of buttons) button.setAttribute("aria-disabled", "true");
  held.set(form, { buttons, timer: setTimeout(() => release(form), HOLD_MS) });
}

function release(form) {
  const hold = held.get(form);
  if (!hold) return;
  clearTimeout(hold.timer);
  for (const button of hold.buttons) button.removeAttribute("aria-disabled");
  held.delete(form);
}

document.addEventListener(
  "submit",
  (event) => {
    const form = event.target;
    if (form.method !== "post") return;
    if (held.has(form)) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    const buttons = [...form.elements].filter((element) => element.type === "submit");
    hold(form, buttons);
    queueMicrotask(() => {
      // Another script called the sending off. One that sends the form itself (htmx) says when it is done.
      if (event.defaultPrevented && !form.matches("[hx-post]")) release(form);
    });
  },
  true,
);
addEventListener("pageshow", () => [...held.keys()].forEach(release));
document.addEventListener("htmx:afterRequest", (event) => release(event.target.closest("form")));
