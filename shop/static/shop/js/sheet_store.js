// Lines that wait to be sent, kept in this browser by person and job: one key a line, so that two tabs never overwrite each other.
// A line: { once, line, at, place, seen, made, tried, instead, stopped, told }. Where nothing can be kept, they live with the page.
const HEAD = "line-waiting";

function parts(key) {
  const [head, writer, job, made] = key.split("|");
  return head === HEAD && made ? { writer, job } : null;
}

export class Store {
  constructor(writer, job) {
    this.writer = encodeURIComponent(writer);
    this.job = encodeURIComponent(job);
    this.memory = new Map();
    this.last = 0;
  }

  key(item) {
    return [HEAD, this.writer, this.job, String(item.made).padStart(15, "0"), item.once].join("|");
  }

  // Later than every line before it, also within one millisecond.
  stamp() {
    this.last = Math.max(Date.now(), this.last + 1, ...this.all().map((item) => item.made + 1));
    return this.last;
  }

  keep(item) {
    try {
      localStorage.setItem(this.key(item), JSON.stringify(item));
    } catch {
      this.memory.set(this.key(item), item);
    }
  }

  has(item) {
    return this.all().some((one) => one.once === item.once);
  }

  drop(item) {
    this.memory.delete(this.key(item));
    try {
      localStorage.removeItem(this.key(item));
    } catch {
      // it was never kept there
    }
  }

  all() {
    const kept = new Map(this.memory);
    for (const key of this.keys()) {
      const of = parts(key);
      if (!of || of.writer !== this.writer || of.job !== this.job) continue;
      try {
        kept.set(key, JSON.parse(localStorage.getItem(key)));
      } catch {
        // not one of ours after all
      }
    }
    return [...kept].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, item]) => item).filter((item) => item?.once);
  }

  // Who else has lines of this job waiting in this browser, and how many.
  others() {
    const counted = new Map();
    for (const key of this.keys()) {
      const of = parts(key);
      if (of?.job !== this.job || of.writer === this.writer) continue;
      const name = decodeURIComponent(of.writer);
      counted.set(name, (counted.get(name) ?? 0) + 1);
    }
    return counted;
  }

  keys() {
    try {
      return Object.keys(localStorage);
    } catch {
      return [];
    }
  }
}
