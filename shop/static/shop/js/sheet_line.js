// The line field: where it stands, how it is read while one types, what is sent, and what comes back.
import { Queue, post, token } from "./sheet_queue.js";
import { Store } from "./sheet_store.js";
import { apply, focusRow } from "./sheet_swap.js";
import { drawWaiting } from "./sheet_waiting.js";

const READ_AFTER_MS = 180;
const ENDS_A_POSITION = /[\s=;'’‘´`′"”“″]/;

export class LineBar {
  constructor(bar) {
    this.bar = bar;
    this.form = bar.querySelector("[data-line-form]");
    this.field = this.form.elements.line;
    this.said = bar.querySelector("[data-line-said]");
    this.preview = bar.querySelector("[data-line-preview]");
    this.instead = "";
    const store = new Store(bar.dataset.writer, bar.dataset.job);
    this.queue = new Queue(store, this.form, {
      settled: (item, changes) => this.settle(item, changes),
      changed: () => drawWaiting(this, store),
    });
    this.field.setAttribute("autocomplete", "off");
    this.listen();
    this.stand(this.row(), { quiet: true });
    this.queue.flush();
  }

  listen() {
    // Enter in the field presses the button too. The form's own sending is for pages without scripts.
    this.form.querySelector(".control button").addEventListener("click", (event) => {
      event.preventDefault();
      this.write();
    });
    this.field.addEventListener("input", () => this.typed());
    this.field.addEventListener("keydown", (event) => this.pressed(event));
    this.bar.addEventListener("click", (event) => this.clicked(event));
  }

  // Rows and where the line stands.

  rows() {
    return [...document.querySelectorAll("tr[data-row]")];
  }

  row() {
    return document.getElementById(`p-${this.form.elements.at.value}`) ?? this.rows()[0];
  }

  stand(row, { quiet = false } = {}) {
    if (!row) return;
    this.form.elements.at.value = row.dataset.row;
    for (const one of document.querySelectorAll("tr.is-here")) one.classList.remove("is-here");
    row.classList.add("is-here");
    this.label(row);
    if (quiet) return;
    row.scrollIntoView({ block: "nearest" });
    if (this.field.value) this.typed();
  }

  label(row) {
    const place = this.bar.querySelector("[data-line-place]");
    const name = document.createElement("span");
    name.className = "position";
    name.textContent = row.dataset.designator;
    const called = row.querySelector('[data-label="Called for"]').textContent.trim();
    const role = row.querySelector(".role").textContent.trim().toLowerCase();
    place.replaceChildren("Line at ", name, `, ${role}${called ? "; called for " : ""}`);
    if (!called) return;
    const value = document.createElement("span");
    value.className = "notation";
    value.textContent = called;
    place.append(value);
  }

  step(by) {
    const rows = this.rows();
    const at = rows.indexOf(this.row()) + by;
    const row = rows[Math.min(Math.max(at, 0), rows.length - 1)];
    this.stand(row);
    return row;
  }

  // The next row in circuit order that waits for somebody's judgement; lines on their way count as written.
  after(row) {
    const rows = this.rows();
    const at = rows.indexOf(row) + 1;
    const turned = [...rows.slice(at), ...rows.slice(0, at)];
    const sent = new Set(this.queue.waiting().map((item) => item.place));
    const open = turned.filter((one) => one.dataset.step && !sent.has(one.dataset.row));
    return open.find((one) => one.dataset.step !== "to fit") ?? open[0] ?? turned[0];
  }

  next() {
    const row = this.after(this.row());
    this.stand(row);
    return row;
  }

  named(text) {
    const plain = text.trim().toUpperCase();
    if (plain === "." || plain.startsWith(". ")) return null;
    const fits = (row) => {
      const name = row.dataset.designator.toUpperCase();
      return plain.startsWith(name) && (plain.length === name.length || ENDS_A_POSITION.test(plain[name.length]));
    };
    return this.rows().filter(fits).sort((a, b) => b.dataset.designator.length - a.dataset.designator.length)[0] ?? null;
  }

  focus() {
    this.field.focus({ preventScroll: true });
    this.field.setSelectionRange(this.field.value.length, this.field.value.length);
  }

  // Typing.

  typed() {
    clearTimeout(this.timer);
    this.asked?.abort();
    this.tell("");
    this.refused = false;
    this.seek();
    if (!this.field.value.trim()) return this.preview.replaceChildren();
    this.timer = setTimeout(() => this.read(), READ_AFTER_MS);
  }

  // A position that is being typed is looked up on the sheet at once.
  seek() {
    const text = this.field.value.trim().toUpperCase();
    for (const one of document.querySelectorAll("tr.is-sought")) one.classList.remove("is-sought");
    const begun = text && !ENDS_A_POSITION.test(text) ? this.rows().find((row) => row.dataset.designator.toUpperCase().startsWith(text)) : null;
    const row = this.named(text) ?? begun;
    if (!row) return;
    row.classList.add("is-sought");
    row.scrollIntoView({ block: "nearest" });
  }

  async read() {
    if (navigator.onLine === false) return;
    this.asked = new AbortController();
    const address = new URL(this.form.dataset.lineRead, location.href);
    address.searchParams.set("line", this.field.value);
    address.searchParams.set("at", this.form.elements.at.value);
    try {
      const answer = await fetch(address, { headers: { "HX-Request": "true" }, signal: this.asked.signal });
      if (!answer.ok || answer.headers.has("HX-Redirect")) return this.preview.replaceChildren();
      const piece = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (!this.asked.signal.aborted) this.preview.replaceChildren(...piece.body.childNodes);
    } catch (error) {
      if (error.name !== "AbortError") this.preview.replaceChildren(); // no network: the line can be sent all the same
    }
  }

  pressed(event) {
    if (event.key === "Escape") {
      event.preventDefault();
      focusRow(this.row());
    } else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      this.step(event.key === "ArrowDown" ? 1 : -1);
    }
  }

  put(sign) {
    this.field.value += sign;
    this.typed();
    this.focus();
  }

  // A letter behind the semicolon: one of each family, pressed again it goes away.
  letter(button) {
    const family = [...this.bar.querySelectorAll(`[data-family="${button.dataset.family}"]`)].map((one) => one.dataset.letter);
    const [, values, letters, why] = this.field.value.match(/^((?:\\.|[^;\\])*)(?:;\s*(\S*)(.*))?$/s) ?? [null, this.field.value, "", ""];
    const others = [...(letters ?? "")].filter((one) => !family.includes(one.toLowerCase())).join("");
    const picked = (letters ?? "").toLowerCase().includes(button.dataset.letter) ? others : others + button.dataset.letter;
    this.field.value = picked ? `${values.trimEnd()};${picked}${why ?? ""}` : values;
    this.typed();
  }

  // Sending.

  write() {
    const text = this.field.value.trim();
    const named = this.named(text);
    this.clear();
    if (!text) return void this.next();
    if (named && text.length === named.dataset.designator.length) return this.stand(named);
    const row = named ?? this.row();
    this.send(text, row);
    this.stand(this.after(row));
  }

  send(line, row) {
    const instead = this.instead;
    this.instead = "";
    this.queue.add({ line, at: this.form.elements.at.value, place: row.dataset.row, seen: this.bar.dataset.seen, instead });
  }

  mark(letter) {
    const row = this.row();
    this.send(`;${letter}`, row);
  }

  clear() {
    this.refused = false;
    this.tell("");
    clearTimeout(this.timer);
    this.asked?.abort();
    this.field.value = "";
    this.preview.replaceChildren();
    for (const one of document.querySelectorAll("tr.is-sought")) one.classList.remove("is-sought");
  }

  settle(item, changes) {
    if (!changes) return;
    this.apply(changes);
    const told = changes.querySelector("[data-told]");
    const stopped = ["refused", "stale"].includes(changes.dataset.answer);
    // Where more lines about the same place wait, it stays among them and holds them back.
    const alone = this.queue.waiting().every((one) => one.once === item.once || one.place !== item.place);
    if (stopped && alone && !this.field.value.trim()) return this.giveBack(item, told, changes.dataset.answer);
    if (!stopped && !this.refused) this.tell(...told.childNodes);
  }

  apply(changes) {
    apply(changes, () => this.focus());
    this.bar.dataset.seen = changes.dataset.seen;
  }

  // What was refused comes back into the line, with what the shop says; Enter sends it again.
  giveBack(item, told, answer) {
    this.queue.store.drop(item);
    this.takeUp(item);
    this.refused = true;
    const own = document.createElement("p");
    own.append("You typed ", Object.assign(document.createElement("code"), { textContent: item.line }), ". Enter sends it again.");
    this.tell(...told.childNodes, ...(answer === "stale" ? [own] : []));
    this.focus();
  }

  takeUp(item) {
    const row = document.getElementById(`p-${item.at}`);
    this.stand(row ?? this.row());
    this.field.value = item.line;
  }

  // A waiting line back into the field. Where it may have arrived, the shop is told which line the new one stands for.
  change(item) {
    this.queue.store.drop(item);
    this.instead = item.tried && !item.stopped ? item.once : item.instead;
    this.takeUp(item);
    this.typed();
    this.focus();
    this.queue.flush();
  }

  async undo() {
    const last = this.queue.waiting().at(-1);
    if (last) return this.change(last);
    const form = this.bar.querySelector("[data-take-back]");
    if (!form) return this.tell("There is no last line of yours to take back.");
    const { first, last: end, once } = form.elements;
    try {
      const fields = { first: first.value, last: end.value, once: once.value, seen: this.bar.dataset.seen };
      const answer = await post(this.form, form.action, fields);
      if (!answer.changes) return location.reload();
      this.apply(answer.changes);
      this.tell(...answer.changes.querySelector("[data-told]").childNodes);
    } catch {
      this.tell("The network is gone. Take the line back when it is there again.");
    }
  }

  tell(...what) {
    this.said.replaceChildren(...what);
  }

  clicked(event) {
    const button = event.target.closest("button, a");
    if (!button) return;
    if (button.closest("[data-take-back]")) {
      event.preventDefault();
      this.undo();
    } else if (button.dataset.choose) {
      this.field.value = button.dataset.choose;
      this.tell("");
      this.write();
    } else if (button.dataset.put) this.put(button.dataset.put);
    else if (button.dataset.letter) this.letter(button);
  }
}
