// Live figures: a moved hand asks the page again and swaps the regions that changed.
// Every page works without this.

document.documentElement.classList.add("script");
const tell = document.getElementById("tell");
let telling = 0;

function say(words, shown) {
  clearTimeout(telling);
  telling = setTimeout(() => {
    tell.textContent = words;
    tell.classList.toggle("shown", Boolean(shown));
  }, shown ? 0 : 600);
}

// ---- The hands -------------------------------------------------------------

function asked(form) {
  const query = new URLSearchParams();
  for (const field of form.elements) {
    if (!field.name || field.disabled) continue;
    if ((field.type === "radio" || field.type === "checkbox") && !field.checked) continue;
    if (field.value === "" || field.value === field.dataset.standing) continue;
    query.append(field.name, field.value);
  }
  if ([...query.keys()].every((key) => key === "in")) query.delete("in");
  return query;
}

function live(form) {
  let running = null;
  const ask = async () => {
    const began = performance.now();
    const query = asked(form);
    const address = `${location.pathname}${query.size ? `?${query}` : ""}`;
    query.set("fragment", "1");
    running?.abort();
    running = new AbortController();
    let text;
    try {
      const answer = await fetch(`${location.pathname}?${query}`, { signal: running.signal });
      if (answer.status >= 500 || answer.status === 404) throw new Error(answer.statusText);
      text = await answer.text();
    } catch (error) {
      if (error.name !== "AbortError") say("Handline does not answer. What is shown is from before; reload the page.", true);
      return;
    }
    const fresh = new DOMParser().parseFromString(text, "text/html");
    for (const id of form.dataset.live.split(" ")) {
      const now = document.getElementById(id);
      const next = fresh.getElementById(id);
      if (now && next) swap(now, next);
    }
    wrong(form, fresh);
    history.replaceState(null, "", address);
    for (const back of document.querySelectorAll('form.switches input[name="back"]')) back.value = address;
    const summary = document.querySelector("[data-summary]")?.dataset.summary;
    if (summary) say(summary);
    performance.measure("handline live", { start: began });
    document.documentElement.dataset.took = (performance.now() - began).toFixed(1);
  };
  form.addEventListener("input", ask);
  form.addEventListener("submit", (event) => { event.preventDefault(); ask(); });
  for (const field of form.elements) if (!form.contains(field)) field.addEventListener("input", ask);
  steps(form);
}

// Slides beside their fields, and buttons that step them.
function steps(form) {
  for (const range of form.querySelectorAll('input[type="range"][data-for]')) pair(form, range);
  form.addEventListener("click", (event) => {
    const by = event.target.closest("[data-step]");
    if (by) step(document.getElementById(by.dataset.for), Number(by.dataset.step));
  });
}

// What was opened stays open, and the reader stays where the table was.
function swap(now, next) {
  const open = new Set([...now.querySelectorAll("details[open]")].map(name));
  const moved = new Map([...now.querySelectorAll(".sheet, .wide")].map((box) => [box.getAttribute("aria-label"), box.scrollLeft]));
  for (const box of next.querySelectorAll("details")) if (open.has(name(box))) box.open = true;
  now.replaceWith(next);
  for (const box of next.querySelectorAll(".sheet, .wide")) box.scrollLeft = moved.get(box.getAttribute("aria-label")) ?? 0;
}

function name(box) {
  return `${box.closest("[id]")?.id} ${box.querySelector("summary")?.textContent}`;
}

// Messages beside the fields: the answer says which values could not be used.
function wrong(form, fresh) {
  for (const old of document.querySelectorAll("p.wrong[data-live]")) old.remove();
  for (const field of [...form.elements].filter((field) => field.hasAttribute("aria-invalid"))) {
    field.removeAttribute("aria-invalid");
    field.removeAttribute("aria-describedby");
    field.closest(".hand, div")?.querySelector("p.wrong")?.remove();
  }
  for (const said of fresh.querySelectorAll("[data-wrong]")) {
    const field = document.getElementsByName(said.dataset.wrong)[0];
    if (!field) continue;
    const note = document.createElement("p");
    note.className = "wrong";
    note.id = `${field.id || said.dataset.wrong}-w`;
    note.dataset.live = "";
    note.textContent = said.textContent;
    (field.closest(".hand") ?? field.parentElement).append(note);
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", note.id);
    say(said.textContent);
  }
}

function pair(form, range) {
  const field = document.getElementById(range.dataset.for);
  range.hidden = false;
  range.addEventListener("input", () => { field.value = range.dataset.unit ? `${range.value} ${range.dataset.unit}` : range.value; });
  // A value with another unit is for Handline to read; the slide then stays.
  const own = (text) => /^-?[\d.]+\s*%?$/.test(text.trim()) || text.trim().endsWith(` ${range.dataset.unit}`);
  field.addEventListener("input", () => { if (own(field.value)) range.value = parseFloat(field.value); });
  field.addEventListener("keydown", (event) => {
    const by = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!by) return;
    event.preventDefault();
    step(field, by * Number(range.step));
  });
}

function step(field, by) {
  const digits = String(Math.abs(by)).includes(".") ? 1 : 0;
  const value = (parseFloat(field.value) || 0) + by;
  const range = document.querySelector(`input[type="range"][data-for="${field.id}"]`);
  const least = range ? Number(range.min) : -Infinity;
  const most = range ? Number(range.max) : Infinity;
  field.value = Math.min(most, Math.max(least, value)).toFixed(Number.isInteger(value) ? 0 : Math.max(digits, 1));
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

function begin(root) {
  root.querySelectorAll("form[data-live]").forEach(live);
  root.querySelectorAll("form[data-steps]").forEach(steps);
  root.querySelectorAll("[data-run]").forEach(run);
}

// ---- Work that takes long: started, followed, cancelled ---------------------

// The one request works it out and tells how far it is; closed, by the button or with the
// page, the work stops.
function run(box) {
  const form = box.querySelector("form");
  const shown = box.querySelector(".progress");
  const [bar, words] = [shown.querySelector("progress"), shown.querySelector("[data-progress]")];
  let source = null;
  let [spoken, saying] = [0, ""];
  const end = () => { source?.close(); source = null; };
  const over = (text) => {
    end();
    shown.hidden = true;
    form.hidden = false;
    say(text, true);
    form.querySelector("button").focus();
  };
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    form.hidden = true;
    shown.hidden = false;
    words.textContent = "Starting";
    bar.removeAttribute("value");
    shown.querySelector("[data-cancel]").focus();
    const begun = new EventSource(box.dataset.run);
    source = begun;
    begun.addEventListener("far", (event) => {
      const far = JSON.parse(event.data);
      if (far.all) bar.value = far.done / far.all;
      // Read out once in a while, not at every step.
      const of = far.words.replace(/[\d,]/g, "");
      if (Date.now() - spoken > 1000 || of !== saying) { words.textContent = far.words; spoken = Date.now(); saying = of; }
    });
    begun.addEventListener("answer", (event) => {
      end();
      const { title, content } = JSON.parse(event.data);
      const main = document.getElementById("content");
      main.innerHTML = content;
      document.title = `${title} - Handline`;
      const query = new URLSearchParams([...new FormData(form)]);
      history.replaceState(null, "", `${location.pathname}?${query}`);
      for (const back of document.querySelectorAll('form.switches input[name="back"]')) back.value = `${location.pathname}?${query}`;
      begin(main);
      main.focus();
      say("The answer is there");
    });
    begun.addEventListener("error", () => { if (source === begun) over("Handline does not answer; nothing was kept. Start it again."); });
  });
  shown.querySelector("[data-cancel]").addEventListener("click", () => over("Cancelled; the work was stopped."));
  addEventListener("pagehide", end);
}

begin(document);

// ---- Values on the drawings ------------------------------------------------

const bubble = document.createElement("div");
bubble.className = "bubble";
bubble.hidden = true;
bubble.setAttribute("aria-hidden", "true");
document.body.append(bubble);

function show(point) {
  const title = point.querySelector("title");
  const words = title?.textContent ?? point.getAttribute("aria-label");
  if (!words) return;
  bubble.textContent = words;
  bubble.hidden = false;
  const at = point.getBoundingClientRect();
  const left = Math.min(Math.max(8, at.left + at.width / 2 - bubble.offsetWidth / 2), innerWidth - bubble.offsetWidth - 8);
  const above = at.top - bubble.offsetHeight - 8;
  bubble.style.left = `${left + scrollX}px`;
  bubble.style.top = `${(above > 0 ? above : at.bottom + 8) + scrollY}px`;
}

for (const [start, end] of [["mouseover", "mouseout"], ["focusin", "focusout"]]) {
  document.addEventListener(start, (event) => {
    const point = event.target.closest?.(".point");
    if (point) show(point);
  });
  document.addEventListener(end, () => { bubble.hidden = true; });
}
document.addEventListener("keydown", (event) => { if (event.key === "Escape") bubble.hidden = true; });

// ---- What is typed as a password, shown on demand -------------------------

for (const field of document.querySelectorAll(".secret input")) {
  const shows = document.createElement("button");
  shows.type = "button";
  shows.textContent = "Show";
  shows.setAttribute("aria-controls", field.id);
  shows.setAttribute("aria-pressed", "false");
  shows.addEventListener("click", () => {
    const shown = field.type === "password";
    field.type = shown ? "text" : "password";
    shows.setAttribute("aria-pressed", String(shown));
  });
  field.after(shows);
  field.form.addEventListener("submit", () => { field.type = "password"; });
}

// ---- Somebody else at the same book ---------------------------------------

const book = document.body.dataset.book;
if (book) {
  setInterval(async () => {
    if (document.hidden) return;
    try {
      const newest = await (await fetch(`/book/${book}/newest`)).json();
      if (newest.revision > Number(document.body.dataset.revision)) {
        const who = newest.who || "Somebody";
        say(`${who} changed this book: ${newest.words.join("; ") || "see its history"}. Reload to see it; nothing of yours is lost.`, true);
      }
    } catch { /* The next try may reach it. */ }
  }, 5000);
}
