// A bar while a form that takes long is under way. Without this script the browser waits as for any page.
//
//   <form> … <div class="progress" data-progress="/…/progress/" hidden><progress max="1"></progress> <span role="status"></span></div>
//
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

  form.addEventListener("submit", (event) => {
    if (event.defaultPrevented || event.submitter?.name) return;
    place.hidden = false;
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
