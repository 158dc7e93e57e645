// A datalist with data-drawer-codes="/drawers/cabinets/codes/" gets the codes that begin with what is typed into a field of its own.
// Without this script a code is typed in whole, as it stands on the drawer's label.
const WAIT_MS = 150;
const list = document.querySelector("datalist[data-drawer-codes]");
let timer;
let asked = new AbortController();

async function suggest(text) {
  asked.abort();
  asked = new AbortController();
  const address = new URL(list.dataset.drawerCodes, location.href);
  address.searchParams.set("q", text);
  try {
    const answer = await fetch(address, { signal: asked.signal });
    if (!answer.ok || answer.redirected) return;
    const { codes } = await answer.json();
    list.replaceChildren(...codes.map((code) => new Option("", code)));
  } catch (error) {
    if (error.name !== "AbortError") list.replaceChildren(); // no network: the form still sends
  }
}

function typed(event) {
  if (!event.target.matches?.(`input[list="${list.id}"]`)) return;
  clearTimeout(timer);
  const text = event.target.value.trim();
  if (text) timer = setTimeout(() => suggest(text), WAIT_MS);
}

if (list) document.addEventListener("input", typed);
