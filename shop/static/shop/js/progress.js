// A bar while a form that takes long is under way. Without this script the browser waits as for any page.
//
//   <form> … <div class="progress" data-progress="/…/progress/" hidden><progress max="1"></progress> <span role="status"></span></div>
//
// A button data-stop="/…/stop/" in it asks for a stop; the form's own answer then says that it was stopped.
// The address answers {"what": "Reading the file", "share": 0.4}. A button with a name (another way to send) shows no bar.
const ASK_MS = 700;

function watch(form, place) {
  const bar = place.querySelector("progress");
  const words = place.querySelector("[role=status]");
  let timer;

  async function ask() {
    try {
      const answer = await fetch(place.dataset.progress, { headers: { Accept: "application/json" } });
      if (answer.ok && !answer.redirected) {
        const { what, share } = await answer.json();
        if (what) {
          bar.value = share;
          const said = `${what} …`;
          if (words.textContent !== said) words.textContent = said; // said once, not with every per cent
        }
      }
    } catch {
      // no network for a moment: the page itself will say so
    }
    timer = setTimeout(ask, ASK_MS);
  }

  const stop = place.querySelector("[data-stop]");
  stop?.addEventListener("click", async () => {
    stop.disabled = true;
    words.textContent = "Stopping …";
    const token = form.elements.csrfmiddlewaretoken.value;
    try {
      await fetch(stop.dataset.stop, { method: "POST", headers: { "X-CSRFToken": token }, redirect: "manual" });
    } catch {
      stop.disabled = false; // it may be tried again
    }
  });

  form.addEventListener("submit", (event) => {
    if (event.defaultPrevented || event.submitter?.name) return;
    place.hidden = false;
    if (stop) stop.disabled = false;
    bar.removeAttribute("value");
    clearTimeout(timer);
    timer = setTimeout(ask, ASK_MS);
  });
  addEventListener("pageshow", () => {
    clearTimeout(timer);
    place.hidden = true;
  });
}

for (const place of document.querySelectorAll("form [data-progress]")) watch(place.closest("form"), place);
