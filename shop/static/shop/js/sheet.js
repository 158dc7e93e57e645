// data-keep-place="name": after a form inside is sent and the page comes back, the window and the frame stand where they stood.
const KEY = "place:";

function store(frame) {
  const place = { page: scrollY, x: frame.scrollLeft, y: frame.scrollTop, path: location.pathname };
  try {
    sessionStorage.setItem(KEY + frame.dataset.keepPlace, JSON.stringify(place));
  } catch {
    // the page then opens at its top
  }
}

function restore(frame) {
  try {
    const key = KEY + frame.dataset.keepPlace;
    const place = JSON.parse(sessionStorage.getItem(key) ?? "null");
    sessionStorage.removeItem(key);
    if (place?.path !== location.pathname || location.hash) return;
    frame.scrollTo(place.x, place.y);
    scrollTo(0, place.page);
  } catch {
    // as above
  }
}

for (const frame of document.querySelectorAll("[data-keep-place]")) {
  restore(frame);
  frame.addEventListener("submit", () => store(frame));
}
