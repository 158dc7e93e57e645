// The list of lines that wait: what keeps them, their texts, and what can be done with each.
const SOON_MS = 1200; // a line that is on its way is no waiting line yet

const counted = (count) => (count === 1 ? "1 line waits" : `${count} lines wait`);

const WHY = {
  network: (count) => `${counted(count)} for the network, and will be sent by itself.`,
  busy: (count) => `The shop’s computer doesn’t answer. ${counted(count)} and will be sent again by itself.`,
  signed_out: (count) => `You are signed out. ${counted(count)} here until you sign in again.`,
  other_person: (count) => `Somebody else is signed in. ${counted(count)} here until you sign in again.`,
};

function element(tag, text, more = {}) {
  return Object.assign(document.createElement(tag), { textContent: text, ...more });
}

function act(text, label, work) {
  const button = element("button", text, { type: "button", className: "act act-small act-plain" });
  button.setAttribute("aria-label", label);
  button.addEventListener("click", work);
  return button;
}

function place(item) {
  return document.getElementById(`p-${item.place}`)?.dataset.designator ?? "?";
}

function drawLine(bar, item) {
  const row = element("li", "");
  const name = element("span", place(item), { className: "position" });
  row.append(name, " ", item.line ? element("code", item.line) : element("span", "a line that was removed", { className: "soft" }));
  if (item.told) row.append(element("p", item.told, { className: "line-trouble" }));
  const acts = element("span", "", { className: "acts" });
  const what = `the line at ${place(item)}`;
  if (item.stopped) acts.append(act("Send again", `Send ${what} again`, () => bar.queue.again({ ...item, seen: bar.bar.dataset.seen })));
  if (item.line) acts.append(act("Change", `Change ${what}`, () => bar.change(item)));
  if (item.line || item.stopped) acts.append(act("Remove", `Remove ${what}`, () => bar.queue.remove(item)));
  row.append(acts);
  return row;
}

function said(queue, items) {
  const stopped = items.filter((item) => item.stopped).length;
  const waiting = items.length - stopped;
  const words = [];
  if (waiting && queue.trouble) words.push(WHY[queue.trouble](waiting));
  if (stopped) words.push(stopped === 1 ? "1 line was not written:" : `${stopped} lines were not written:`);
  return words.join(" ");
}

function elsewhere(store) {
  return [...store.others()].map(([name, count]) => `${counted(count)} in this browser until ${name} signs in.`).join(" ");
}

export function drawWaiting(bar, store) {
  const frame = bar.bar.querySelector("[data-line-waiting]");
  const { queue } = bar;
  if (!queue) return;
  const items = queue.waiting();
  const shown = items.filter((item) => item.stopped || queue.trouble || Date.now() - item.made > SOON_MS);
  const words = [said(queue, items), elsewhere(store)].filter(Boolean).join(" ");
  frame.hidden = !words;
  if (!words) return frame.replaceChildren();
  let sentence = frame.querySelector("[role=status]");
  if (!sentence) {
    sentence = element("p", "");
    sentence.setAttribute("role", "status");
    frame.append(sentence, document.createElement("ul"));
  }
  if (sentence.dataset.said !== words) {
    sentence.dataset.said = words;
    sentence.textContent = words;
    if (["signed_out", "other_person"].includes(queue.trouble)) sentence.append(" ", element("a", "Sign in", { href: queue.signIn || "/" }));
  }
  frame.querySelector("ul").replaceChildren(...shown.map((item) => drawLine(bar, item)));
}
