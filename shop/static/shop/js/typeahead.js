// A search field that shows what it finds while one types. Without this script the field is a plain one in a GET form.
//
//   <div class="typeahead">
//     <input name="q" data-typeahead="/customers/find/" data-typeahead-into="found" [data-typeahead-value="id_customer"]>
//     <div id="found" class="typeahead-found"></div>
//   </div>
//
// With data-typeahead-over what was found lies over the page, and shows only while the field has the focus.
//
// The address gets `?<field name>=<text>` and answers a fragment: <ul><li><a href> or <li><button type="button" data-pick="17"
// data-pick-text="Name">. A picked button writes its value into the field that data-typeahead-value names, its text into the
// search field, and sends `change` from the first. Arrow keys walk through what was found, Escape returns to the field.
const WAIT_MS = 200;
const FEWEST_LETTERS = 2;

function setUp(field) {
  const found = document.getElementById(field.dataset.typeaheadInto);
  if (!found) return;
  const say = document.createElement("p");
  say.className = "visually-hidden";
  say.setAttribute("role", "status");
  found.after(say);
  field.setAttribute("autocomplete", "off");
  field.setAttribute("aria-controls", found.id);
  let timer;
  let asked = new AbortController();

  const targets = () => [...found.querySelectorAll("a[href], button, input[type=radio]")];
  const clear = () => {
    found.replaceChildren();
    say.textContent = "";
  };

  async function ask() {
    asked.abort();
    asked = new AbortController();
    const text = field.value.trim();
    if (text.length < FEWEST_LETTERS) return clear();
    const address = new URL(field.dataset.typeahead, location.href);
    address.searchParams.set(field.name, text);
    try {
      const answer = await fetch(address, { headers: { "HX-Request": "true" }, signal: asked.signal });
      if (!answer.ok || answer.redirected) return clear();
      const lines = await answer.text();
      if (found.contains(document.activeElement)) return;
      if ("typeaheadOver" in field.dataset && document.activeElement !== field) return; // it would lie over what has the focus
      found.innerHTML = lines;
    } catch (error) {
      if (error.name !== "AbortError") clear(); // no network: the form still sends
      return;
    }
    const count = targets().length;
    say.textContent = count ? `${count} found. Arrow down to choose.` : "Nothing found.";
  }

  function step(event, by) {
    const all = targets();
    if (!all.length) return;
    event.preventDefault();
    clearTimeout(timer); // an answer still under way would take the chosen line from under the finger
    asked.abort();
    const next = all.indexOf(document.activeElement) + by;
    (next < 0 ? field : all[Math.min(next, all.length - 1)]).focus();
  }

  function pick(button) {
    const value = document.getElementById(field.dataset.typeaheadValue ?? "");
    field.value = button.dataset.pickText ?? button.textContent.trim();
    clear();
    field.focus();
    if (!value) return;
    value.value = button.dataset.pick;
    value.dispatchEvent(new Event("change", { bubbles: true }));
  }

  field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(ask, WAIT_MS);
  });
  field.addEventListener("keydown", (event) => event.key === "ArrowDown" && step(event, 1));
  found.addEventListener("keydown", (event) => {
    if (event.key === "ArrowDown") step(event, 1);
    if (event.key === "ArrowUp") step(event, -1);
  });
  found.addEventListener("click", (event) => {
    const button = event.target.closest("[data-pick]");
    if (button) pick(button);
  });
  for (const part of [field, found])
    part.addEventListener("keydown", (event) => {
      if (event.key !== "Escape") return;
      clear();
      field.focus();
    });
}

document.querySelectorAll("[data-typeahead]").forEach(setUp);
document.addEventListener("htmx:load", (event) => event.detail.elt.querySelectorAll("[data-typeahead]").forEach(setUp));
