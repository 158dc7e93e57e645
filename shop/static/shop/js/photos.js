// Many photos over a poor network: each is sent by itself, with its own progress and its own token, and tried again when the
// network went away. Without this script the form sends all of them at once, as any form.
//
//   <form data-photos-to="/…/send/" data-photos-then="/…/"> <input type="file" name="photos" multiple> …
//     <ol data-photos-queue hidden></ol> <p role="status" data-photos-said></p> <button>…</button> </form>
//
// The address takes one photo with the other fields of the form and answers 201 when it is kept, 422 {"refused": ["…"]} in words.
// A photo keeps its token for as long as it waits, so one that arrived without our hearing of it is kept once.
const PAUSES_MS = [1000, 3000, 8000]; // before the second, third and fourth try
const SLOWEST_MS = 120_000;

// Not randomUUID: browsers give that to pages sent over https only, and a shop's own network often has none.
function token() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

const wait = (ms) => new Promise((done) => setTimeout(done, ms));

function element(name, className, words = "") {
  const made = document.createElement(name);
  made.className = className;
  made.textContent = words;
  return made;
}

function makeRow(file, number) {
  const row = element("li", "");
  const picture = element("img", "");
  const line = element("div", "photo-line");
  const label = element("label", "", "Its own caption ");
  const caption = element("input", "");
  const bar = element("progress", "");
  const said = element("span", "soft", "waits to be sent");
  const off = element("button", "act act-plain act-small", "Leave this one out");
  picture.alt = "";
  picture.src = URL.createObjectURL(file);
  picture.addEventListener("load", () => URL.revokeObjectURL(picture.src), { once: true });
  picture.addEventListener("error", () => picture.replaceWith(element("span", "photo-blank")), { once: true });
  caption.maxLength = 160;
  caption.id = `photo-caption-${number}`;
  label.htmlFor = caption.id;
  label.append(element("span", "optional", "optional"), element("span", "visually-hidden", ` for ${file.name}`));
  bar.max = 1;
  bar.value = 0;
  bar.hidden = true;
  bar.setAttribute("aria-label", `Sending ${file.name}`);
  off.type = "button";
  off.setAttribute("aria-label", `Leave out ${file.name}`);
  const acts = element("span", "");
  acts.append(off);
  line.append(element("strong", "photo-name", file.name), label, caption, bar, said, acts);
  row.append(picture, line);
  return { file, row, caption, bar, said, off, token: token(), state: "waits" };
}

function tell(one, state, words) {
  one.state = state;
  one.said.textContent = words;
  one.said.className = state === "refused" || state === "away" ? "photo-refused" : "soft";
  one.bar.hidden = state !== "goes";
  one.caption.disabled = state === "kept" || state === "goes";
  one.off.hidden = state === "kept" || state === "goes";
}

// Gives {status, refused}; status 0 where nothing came back.
function post(address, data, bar) {
  return new Promise((done) => {
    const request = new XMLHttpRequest();
    request.open("POST", address);
    request.timeout = SLOWEST_MS;
    request.setRequestHeader("Accept", "application/json");
    request.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) bar.value = event.loaded / event.total;
    });
    request.addEventListener("load", () => {
      let answer = {};
      try {
        answer = JSON.parse(request.responseText);
      } catch {
        // a page, not an answer: the status says enough
      }
      done({ status: request.status, refused: answer.refused ?? [], kept: answer.kept === true });
    });
    for (const end of ["error", "timeout", "abort"]) request.addEventListener(end, () => done({ status: 0, refused: [], kept: false }));
    request.send(data);
  });
}

const isPassing = (status) => status === 0 || status === 503 || status === 502 || status === 504;

async function sendOne(form, one) {
  const data = new FormData(form);
  data.delete("photos");
  data.set("photos", one.file, one.file.name);
  data.set("once", one.token);
  const own = one.caption.value.trim();
  if (own) data.set("caption", own);
  tell(one, "goes", "is being sent");
  let answer = await post(form.dataset.photosTo, data, one.bar);
  for (const pause of PAUSES_MS) {
    if (!isPassing(answer.status)) break;
    one.said.textContent = "the network is away, it is tried again";
    await wait(pause);
    answer = await post(form.dataset.photosTo, data, one.bar);
  }
  if (answer.kept) tell(one, "kept", "✓ kept");
  else if (answer.status === 422) tell(one, "refused", `✕ not kept: ${answer.refused.join(" ")}`);
  else if (isPassing(answer.status)) tell(one, "away", "✕ not sent: the network is away. Send again when it is back.");
  else tell(one, "refused", "✕ not kept: sign in again in another tab, load this page anew, and choose it once more.");
}

function setUp(form) {
  const list = form.querySelector("[data-photos-queue]");
  const said = form.querySelector("[data-photos-said]");
  const inputs = [...form.querySelectorAll('input[type="file"][name="photos"]')];
  const button = form.querySelector("button.act:not([type=button])");
  const words = button.textContent;
  let queue = [];
  let count = 0;
  let isSending = false;

  function add(input) {
    for (const file of input.files) {
      const one = makeRow(file, (count += 1));
      one.off.addEventListener("click", () => {
        queue = queue.filter((other) => other !== one);
        one.row.remove();
        list.hidden = !queue.length;
        if (queue.length && queue.every((other) => other.state === "kept")) return location.assign(form.dataset.photosThen);
        inputs[0].focus();
      });
      queue.push(one);
      list.append(one.row);
    }
    input.value = ""; // the camera may be pressed again, and adds to the rest
    list.hidden = !queue.length;
    said.textContent = `${queue.length} to send.`;
  }

  async function sendAll() {
    isSending = true;
    button.setAttribute("aria-disabled", "true");
    const open = queue.filter((one) => one.state !== "kept");
    for (const [at, one] of open.entries()) {
      button.textContent = `Sending ${at + 1} of ${open.length}`;
      await sendOne(form, one);
      said.textContent = `${one.file.name}: ${one.said.textContent}`;
    }
    isSending = false;
    button.removeAttribute("aria-disabled");
    const left = queue.filter((one) => one.state !== "kept");
    if (!left.length) return location.assign(form.dataset.photosThen);
    button.textContent = "Send these again";
    said.textContent = `${queue.length - left.length} kept, ${left.length} not. Each says why.`;
    left[0].row.scrollIntoView({ block: "nearest" });
  }

  for (const input of inputs) input.addEventListener("change", () => add(input));
  // Before the script that holds every form: this one is never sent as a whole while photos wait in the list.
  addEventListener(
    "submit",
    (event) => {
      if (event.target !== form || !queue.length) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      if (!isSending) sendAll();
    },
    true,
  );
  addEventListener("beforeunload", (event) => {
    if (isSending) event.preventDefault();
  });
  addEventListener("pageshow", () => {
    button.textContent = words;
  });
}

document.querySelectorAll("form[data-photos-to]").forEach(setUp);
