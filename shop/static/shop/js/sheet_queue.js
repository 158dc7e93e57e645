// Sends the lines of the log one after another. A line carries its once-token from the start, so that it is written once however
// often it is sent. Without network they wait and are tried again with a growing pause; a refused one holds back only lines about
// the same position.
import { readChanges } from "./sheet_swap.js";

const PAUSES_MS = [1500, 3000, 6000, 12_000, 30_000, 60_000];
const LONGEST_ANSWER_MS = 15_000;
const DONE = ["written", "moved", "taken_back", "given_up"];

// crypto.randomUUID is there on https only, and a shop's own network is often without.
export function token() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

// The cookie's token: after signing in again in another tab the one in the page is worth nothing.
function csrf(form) {
  const cookie = document.cookie.split("; ").find((one) => /^(__Host-)?csrftoken=/.test(one));
  return cookie ? cookie.slice(cookie.indexOf("=") + 1) : form.elements.csrfmiddlewaretoken.value;
}

export async function post(form, address, fields) {
  const answer = await fetch(address, {
    method: "POST",
    body: new URLSearchParams(fields),
    headers: { "HX-Request": "true", "HX-Current-URL": location.href, "X-CSRFToken": csrf(form) },
    signal: AbortSignal.timeout(LONGEST_ANSWER_MS),
  });
  const signIn = answer.headers.get("HX-Redirect");
  if (signIn || answer.status === 403) return { trouble: "signed_out", signIn: signIn ?? location.pathname };
  if (answer.status >= 500) return { trouble: "busy" };
  const changes = readChanges(await answer.text());
  if (changes?.dataset.answer === "other_person") return { trouble: "other_person", changes };
  return { changes, status: answer.status };
}

export class Queue {
  // `settled(item, changes)` is called with every answer, `changed()` whenever the list or the trouble changes.
  constructor(store, form, { settled, changed }) {
    Object.assign(this, { store, form, settled, changed, trouble: "", signIn: "", sending: false, failures: 0 });
    addEventListener("online", () => this.flush());
    addEventListener("storage", () => this.changed());
    document.addEventListener("visibilitychange", () => document.hidden || this.flush());
  }

  add(fields) {
    const item = { once: token(), made: this.store.stamp(), tried: false, stopped: "", told: "", instead: "", ...fields };
    this.store.keep(item);
    this.flush();
    return item;
  }

  again(item) {
    this.store.keep({ ...item, stopped: "", told: "", instead: item.stopped === "arrived" ? "" : item.instead });
    this.flush();
  }

  // A line that was sent without an answer may have arrived: the shop is told that it counts for nothing.
  remove(item) {
    this.store.drop(item);
    if (item.tried && !item.stopped) this.add({ line: "", at: item.at, place: item.place, seen: item.seen, instead: item.once });
    this.changed();
  }

  waiting() {
    return this.store.all();
  }

  next() {
    const held = new Set();
    for (const item of this.waiting()) {
      if (!item.stopped && !held.has(item.place)) return item;
      held.add(item.place);
    }
    return null;
  }

  async flush() {
    clearTimeout(this.timer);
    if (this.sending) return;
    this.sending = true;
    this.changed();
    for (let item = this.next(); item; item = this.next()) {
      if (!(await this.send(item))) break;
    }
    this.sending = false;
    if (this.trouble && this.waiting().length) {
      const pause = PAUSES_MS[Math.min(this.failures, PAUSES_MS.length - 1)];
      this.timer = setTimeout(() => this.flush(), pause);
      this.failures += 1;
    }
    this.changed();
  }

  // True where the next line may follow.
  async send(item) {
    if (navigator.onLine === false) return this.fail("network");
    this.store.keep({ ...item, tried: true });
    let answer;
    try {
      const { once, line, at, seen, instead } = item;
      const writer = this.form.elements.writer.value;
      answer = await post(this.form, this.form.action, { once, line, at, seen, instead, writer });
    } catch {
      return this.fail("network");
    }
    if (answer.trouble) return this.fail(answer.trouble, answer.signIn);
    this.trouble = "";
    this.failures = 0;
    if (!answer.changes || !DONE.includes(answer.changes.dataset.answer)) this.stop(item, answer);
    else this.store.drop(item);
    this.settled(item, answer.changes);
    return true;
  }

  stop(item, { changes, status }) {
    const told = changes?.querySelector("[data-told] p").textContent ?? `This line was not taken (${status}). Load the page again.`;
    if (this.store.has(item)) this.store.keep({ ...item, tried: true, stopped: changes?.dataset.answer ?? "refused", told });
  }

  fail(trouble, signIn = "") {
    this.trouble = trouble;
    this.signIn = signIn;
    return false;
  }
}
