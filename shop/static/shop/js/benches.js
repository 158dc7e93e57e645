// [data-bench-keys]: with the focus on the tag of an entry, keys go from tag to tag, move its set and say what it waits for.
// After a move the page comes back at the tag (its own address names it), so the focus goes on where it was.
// They only press what the entry's own forms offer, and do nothing with the focus anywhere else.
const lanes = document.querySelector("[data-bench-keys]");
const help = document.querySelector("[data-bench-keys-help]");
const tags = () => [...lanes.querySelectorAll("[data-ticket] .tag-number")];

function step(tag, by) {
  const all = tags();
  all[all.indexOf(tag) + by]?.focus();
}

function move(entry, lane) {
  const form = entry.querySelector("[data-ticket-move]");
  if (!form || !lane || lane.contains(entry)) return;
  form.elements.bench.value = lane.dataset.lane;
  form.requestSubmit();
}

function beside(entry, by) {
  const all = [...lanes.querySelectorAll("[data-lane-key]")];
  return all[all.indexOf(entry.closest("[data-lane-key]")) + by];
}

function ask(entry) {
  const wait = entry.querySelector("[data-ticket-wait]");
  if (!wait) return;
  wait.closest("details").open = true;
  wait.focus();
}

const undo = () => document.querySelector("#messages form[method=post] button")?.click();

function act(event, tag) {
  const entry = tag.closest("[data-ticket]");
  const by = { ArrowUp: -1, ArrowDown: 1 }[event.key];
  if (by) return event.shiftKey ? move(entry, beside(entry, by)) : step(tag, by);
  if (/^[0-9]$/.test(event.key)) return move(entry, lanes.querySelector(`[data-lane-key="${event.key}"]`));
  return event.key === "w" ? ask(entry) : undo();
}

if (lanes) {
  if (help) help.hidden = false;
  lanes.addEventListener("keydown", (event) => {
    const tag = event.target.closest(".tag-number");
    if (!tag || event.ctrlKey || event.altKey || event.metaKey || !/^(ArrowUp|ArrowDown|[0-9wu])$/.test(event.key)) return;
    event.preventDefault();
    act(event, tag);
  });
}
