// A drawing with positions on it. Without this script everything works by links, by a tap that loads the page, and by figures.
//
//   data-drawing-frame > data-drawing     the scrolling frame and the drawing in it; data-fit: as wide as the frame at first
//   a[data-wide]                          shows the drawing so many pixels wide, or as wide as the frame ("fit")
//   a[data-next]                          the mark that the frame scrolls to
//   form[data-placing]                    a tap, or Enter with the cross, puts the chosen position there; the next comes by itself
//   [data-choose] data-x data-y           chooses a position, and where it stands (ten-thousandths)
const WHOLE = 10000;
const STEP = 25;
const LARGE_STEP = 250;
const SMALL = 700;
const PARTS = ["messages", "placing-state", "placing-now", "placing-marks", "placing-lists"];
const FIELDS = ["position", "across", "down"];

const frame = document.querySelector("[data-drawing-frame]");
const drawing = frame?.querySelector("[data-drawing]");
const picture = drawing?.querySelector("img, input[type=image]");
const form = document.querySelector("form[data-placing]");

function widen(width) {
  const fit = width === "fit";
  const wide = fit ? frame.clientWidth : Number(width);
  const ratio = picture.offsetHeight / picture.offsetWidth;
  drawing.classList.toggle("is-fit", fit && picture.tagName === "IMG");
  drawing.classList.toggle("is-small", wide < SMALL);
  picture.width = wide;
  if (picture.tagName === "INPUT") picture.height = Math.round(wide * ratio);
}

function mark(link) {
  for (const other of document.querySelectorAll("a[data-wide]")) other.removeAttribute("aria-current");
  link?.setAttribute("aria-current", "true");
}

for (const link of document.querySelectorAll("a[data-wide]"))
  link.addEventListener("click", (event) => {
    event.preventDefault();
    // What stood in the middle stays in the middle.
    const across = (frame.scrollLeft + frame.clientWidth / 2) / drawing.offsetWidth;
    const down = (frame.scrollTop + frame.clientHeight / 2) / drawing.offsetHeight;
    widen(link.dataset.wide);
    frame.scrollTo(across * drawing.offsetWidth - frame.clientWidth / 2, down * drawing.offsetHeight - frame.clientHeight / 2);
    mark(link);
  });

function centre(place) {
  const [at, around] = [place.getBoundingClientRect(), frame.getBoundingClientRect()];
  frame.scrollBy(at.left + at.width / 2 - around.left - frame.clientWidth / 2, at.top + at.height / 2 - around.top - frame.clientHeight / 2);
}

function toNext(focus) {
  const next = frame.querySelector("[data-next]");
  if (!next) return;
  centre(next);
  if (!focus) return;
  next.scrollIntoView({ block: "center", inline: "center" });
  next.focus({ preventScroll: true });
}

if (frame && !form) {
  if (!location.hash) toNext(false);
  document.querySelector("[data-show-next]")?.addEventListener("click", (event) => {
    event.preventDefault();
    toNext(true);
  });
}

function placing() {
  const cross = drawing.querySelector("[data-cross]");
  const thread = cross.querySelector("svg");
  const field = (name) => form.elements.namedItem(name);
  const place = { x: WHOLE / 2, y: WHOLE / 2 };
  let busy = false;

  function move(x, y) {
    place.x = Math.max(0, Math.min(WHOLE, Math.round(x)));
    place.y = Math.max(0, Math.min(WHOLE, Math.round(y)));
    thread.setAttribute("x", `${place.x / 100}%`);
    thread.setAttribute("y", `${place.y / 100}%`);
  }

  function write() {
    field("across").value = (place.x / 100).toFixed(2);
    field("down").value = (place.y / 100).toFixed(2);
  }

  function toChosen() {
    const option = field("position").selectedOptions[0];
    if (option?.value) document.querySelector("[data-now]").textContent = option.textContent;
    const known = document.querySelector(`[data-choose="${CSS.escape(field("position").value)}"][data-x]`);
    if (known) move(Number(known.dataset.x), Number(known.dataset.y));
    field("across").value = known ? (place.x / 100).toFixed(2) : "";
    field("down").value = known ? (place.y / 100).toFixed(2) : "";
  }

  function takeOver(text) {
    const answer = new DOMParser().parseFromString(text, "text/html");
    if (PARTS.some((id) => !answer.getElementById(id))) return false;
    for (const id of PARTS) document.getElementById(id).replaceChildren(...answer.getElementById(id).childNodes);
    return true;
  }

  async function send() {
    if (busy) return;
    busy = true;
    write();
    try {
      const answer = await fetch(form.action, { method: "POST", body: new FormData(form), headers: { "HX-Request": "true" } });
      const known = [200, 409, 422].includes(answer.status) && !answer.redirected && !answer.headers.has("HX-Redirect");
      if (!known || !takeOver(await answer.text())) throw new Error("no part of this page");
      if (answer.ok) toChosen();
    } catch {
      form.requestSubmit(form.querySelector("button")); // the page itself says what is wrong, under the same token
    } finally {
      busy = false;
    }
  }

  picture.addEventListener("click", (event) => {
    event.preventDefault();
    if (event.detail) {
      // A pointer; the keyboard's click has no place of its own and means the cross.
      const box = picture.getBoundingClientRect();
      move(((event.clientX - box.left) / box.width) * WHOLE, ((event.clientY - box.top) / box.height) * WHOLE);
    }
    send();
  });
  picture.addEventListener("keydown", (event) => {
    const step = event.shiftKey ? LARGE_STEP : STEP;
    const way = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
    if (!way) return;
    event.preventDefault();
    move(place.x + way[0], place.y + way[1]);
    write();
    thread.scrollIntoView({ block: "nearest", inline: "nearest" });
  });
  document.addEventListener("click", (event) => {
    const choice = event.target.closest("[data-choose]");
    if (!choice) return;
    event.preventDefault();
    field("position").value = choice.dataset.choose;
    toChosen();
    picture.focus({ preventScroll: true });
    frame.scrollIntoView({ block: "nearest" });
  });
  form.addEventListener("change", (event) => event.target.name === "position" && toChosen());
  for (const name of FIELDS.slice(1))
    form.addEventListener("input", (event) => {
      if (event.target.name !== name) return;
      const typed = Number.parseFloat(event.target.value.replace(",", ".")) * 100;
      if (Number.isFinite(typed)) move(name === "across" ? typed : place.x, name === "down" ? typed : place.y);
    });

  cross.removeAttribute("hidden");
  if (drawing.hasAttribute("data-fit")) {
    widen("fit");
    mark(null);
  }
  toChosen();
  move(place.x, place.y);
}

if (form && picture) placing();
