// The sheet of a test on a tablet: steps, drafts, and readings that wait in this browser
// until Handline has them. The sheet works without this, reading by reading.

const saved = document.getElementById("saved");
const waiting = document.getElementById("waiting");
if (saved) start();

function start() {
  const store = `handline test ${saved.dataset.key}`;
  const forms = [...document.querySelectorAll("form[data-read]")];
  let sending = false;
  let reached = true;

  // What is kept in this browser: drafts by point and place, readings that wait.
  function kept() {
    try {
      const all = JSON.parse(localStorage.getItem(store));
      if (all?.drafts && all?.waiting) return all;
    } catch { /* What cannot be read is none. */ }
    return { drafts: {}, waiting: [] };
  }

  function change(how) {
    const all = kept();
    how(all);
    try {
      localStorage.setItem(store, JSON.stringify(all));
      return true;
    } catch {
      return false;
    }
  }

  const name = (form) => `${form.dataset.point} ${form.dataset.place}`;
  const waits = (form) => kept().waiting.some((one) => one.name === name(form));
  const unit = (form) => form.querySelector(".unit").firstChild.textContent.trim();

  function token() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  function clock() {
    const now = new Date();
    return `${String(now.getHours()).padStart(2, "0")}:${String(now.getMinutes()).padStart(2, "0")}`;
  }

  // ---- Steps and drafts ----------------------------------------------------

  function draft(form) {
    const { value, gauge, time, remark } = form.elements;
    change((all) => {
      all.drafts[name(form)] = { value: value.value, gauge: gauge?.value ?? "", time: time.value, own: time.dataset.own ?? "", remark: remark.value };
    });
    say(form);
  }

  function step(form, by) {
    const field = form.elements.value;
    const now = Number.parseFloat(field.value) || 0;
    const size = Math.abs(by);
    // On the scale: the next value that it has.
    const next = Math.round((now + by) / size * 1e6) / 1e6;
    const on = (by > 0 ? Math.floor(next) : Math.ceil(next)) * size;
    const small = Number(form.querySelector(".by[data-small]")?.dataset.by ?? size);
    const value = size > Math.abs(small) ? now + by : on;
    field.value = value.toFixed(Number(form.dataset.decimals));
    draft(form);
  }

  function scale(form) {
    const chosen = form.elements.gauge?.selectedOptions[0];
    if (!chosen) return;
    const { small, large, decimals, note } = chosen.dataset;
    form.dataset.decimals = decimals;
    const steps = [-large, -small, +small, +large];
    form.querySelectorAll(".by").forEach((button, at) => {
      const by = steps[at];
      const amount = Math.abs(by).toFixed(decimals);
      button.dataset.by = by;
      button.textContent = (by < 0 ? "\u2212" : "+") + amount;
      button.setAttribute("aria-label", `${form.dataset.place}: ${amount} ${unit(form)} ${by < 0 ? "less" : "more"}`);
    });
    document.getElementById(form.elements.gauge.getAttribute("aria-describedby")).textContent = note;
  }

  // A draft that was not entered when the page closed stands there again.
  function restore(form) {
    const was = kept().drafts[name(form)];
    if (!was) return;
    const { value, gauge, time, remark } = form.elements;
    value.value = was.value;
    if (gauge && [...gauge.options].some((option) => option.value === was.gauge)) gauge.value = was.gauge;
    if (was.own) { time.value = was.time; time.dataset.own = was.own; }
    remark.value = was.remark;
    scale(form);
    if (form.closest("details.more-reads")) form.closest("details.more-reads").open = true;
  }

  // ---- What is saved, in words ---------------------------------------------

  function say(form) {
    const state = form.querySelector(".read-state");
    state.querySelector(".draft")?.remove();
    const all = kept();
    const one = all.waiting.find((one) => one.name === name(form));
    const words = one
      ? `${one.words}: not saved yet`
      : all.drafts[name(form)] ? `${form.elements.value.value} ${unit(form)} is not entered yet` : "";
    form.classList.toggle("not-saved", Boolean(words));
    if (!words) return;
    const note = document.createElement("p");
    note.className = "draft";
    note.textContent = words;
    state.prepend(note);
  }

  function tell() {
    const all = kept().waiting;
    const refused = all.filter((one) => one.refused).length;
    const rest = all.length - refused;
    const many = (count) => count === 1 ? "1 reading is" : `${count} readings are`;
    const words = [];
    if (rest) words.push(reached
      ? `Saving: ${many(rest)} on the way.`
      : `Not saved yet: Handline does not answer. ${many(rest)} kept on this tablet and will be sent as soon as it answers. The page may be closed.`);
    if (refused) words.push(`${many(refused)} not taken: see below.`);
    if (!words.length && !reached) words.push("Handline does not answer. What you enter is kept on this tablet until it does.");
    if (!words.length) words.push("Saved: Handline has every reading that was entered here.");
    const line = saved.querySelector("p");
    const text = words.join(" ");
    if (line.textContent !== text) line.textContent = text;
    saved.classList.toggle("open", all.length > 0 || !reached);
    list(all);
    forms.forEach(say);
  }

  function list(all) {
    const key = JSON.stringify(all);
    if (waiting.dataset.shown === key) return;
    waiting.dataset.shown = key;
    waiting.replaceChildren(...all.map((one) => {
      const item = document.createElement("li");
      const words = document.createElement("span");
      words.textContent = `Point ${one.fields.point}, ${one.fields.place}: ${one.words}. ${one.refused ?? "Not saved yet."}`;
      item.append(words);
      if (one.refused) {
        if (one.instead) item.append(button("Correct that one with mine", () => again(one.fields.token, { corrects: String(one.instead) })));
        item.append(button("Send it again", () => again(one.fields.token, {})));
        item.append(button("Drop mine", () => drop(one.fields.token)));
      }
      return item;
    }));
  }

  function button(words, does) {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = words;
    made.addEventListener("click", does);
    return made;
  }

  // Another token: what was refused was never entered.
  function again(of, fields) {
    change((all) => {
      const one = all.waiting.find((one) => one.fields.token === of);
      if (!one) return;
      Object.assign(one.fields, fields, { token: token() });
      delete one.refused;
      delete one.instead;
    });
    send();
  }

  function drop(of) {
    change((all) => { all.waiting = all.waiting.filter((one) => one.fields.token !== of); });
    tell();
  }

  // ---- Sending ---------------------------------------------------------------

  async function send() {
    if (sending) return;
    sending = true;
    tell();
    try {
      let one;
      while ((one = kept().waiting.find((one) => !one.refused))) {
        const answer = await fetch(saved.dataset.action, {
          method: "POST",
          headers: { Accept: "application/json" },
          body: new URLSearchParams(one.fields),
        });
        if (answer.status >= 500 || answer.status === 429) throw new Error(answer.statusText);
        const said = await answer.json().catch(() => null);
        const of = one.fields.token;
        if (answer.ok && said?.reading) {
          drop(of);
        } else {
          const why = said?.detail ?? (answer.status === 401 || answer.status === 403 || answer.redirected
            ? "You are not signed in as a tester any more. Sign in, and send it again."
            : `Handline did not take it (${answer.status}).`);
          change((all) => {
            const mine = all.waiting.find((one) => one.fields.token === of);
            if (mine) { mine.refused = why; mine.instead = said?.instead ?? null; }
          });
        }
        reached = true;
      }
      await refresh();
    } catch {
      reached = false;
    }
    sending = false;
    tell();
  }

  // What others entered, and what of mine is in.
  async function refresh() {
    const point = forms[0]?.dataset.point ?? "1";
    const answer = await fetch(`${location.pathname.replace(/\/(read|open)$/, "")}?point=${point}&fragment=1`);
    if (!answer.ok) throw new Error(answer.statusText);
    reached = true;
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const now of document.querySelectorAll("[data-swap]")) {
      const next = fresh.getElementById(now.id);
      if (!next) continue;
      const plain = now.cloneNode(true);
      plain.querySelectorAll(".draft").forEach((note) => note.remove());
      if (plain.innerHTML === next.innerHTML) continue;
      // A button that is pressed or a box that is open stays as it is.
      const focus = now.contains(document.activeElement) ? document.activeElement : null;
      const open = now.querySelector("details[open]");
      now.replaceChildren(...next.childNodes);
      if (open) now.querySelector("details")?.setAttribute("open", "");
      if (focus) [...now.querySelectorAll("button, a, select, summary")].find((e) => e.textContent === focus.textContent || e.classList.contains("enter"))?.focus({ preventScroll: true });
    }
    tell();
  }

  function enter(form, todo) {
    const data = new FormData(form);
    data.set("do", todo);
    data.set("token", token());
    if (!form.elements.time.dataset.own) data.set("time", clock());
    const fields = Object.fromEntries([...data].map(([key, value]) => [key, String(value)]));
    const words = todo === "strike" ? "strike it out" : `${fields.value} ${/[a-z]/i.test(fields.value) ? "" : unit(form)}`.trim();
    const done = change((all) => {
      all.waiting = all.waiting.filter((one) => one.name !== name(form) || !one.refused);
      all.waiting.push({ name: name(form), fields, words });
      delete all.drafts[name(form)];
    });
    // A browser that keeps nothing sends the form itself.
    if (!done) return false;
    delete form.elements.time.dataset.own;
    send();
    return true;
  }

  // ---- What is pressed --------------------------------------------------------

  for (const form of forms) {
    form.querySelectorAll(".by").forEach((button, at) => { if (at === 1 || at === 2) button.dataset.small = ""; });
    if (!form.elements.time.dataset.own) delete form.elements.time.dataset.own;
    restore(form);
    form.addEventListener("click", (event) => {
      const by = event.target.closest(".by");
      if (by) step(form, Number(by.dataset.by));
    });
    form.addEventListener("input", (event) => {
      if (event.target.name === "gauge") scale(form);
      if (event.target.name === "time") event.target.dataset.own = "yes";
      if (event.target.name !== "corrects") draft(form);
    });
    form.elements.value.addEventListener("keydown", (event) => {
      const at = { ArrowUp: 2, ArrowDown: 1, PageUp: 3, PageDown: 0 }[event.key];
      if (at === undefined) return;
      event.preventDefault();
      step(form, Number(form.querySelectorAll(".by")[at].dataset.by));
    });
    form.addEventListener("submit", (event) => {
      const todo = event.submitter?.value || "enter";
      if (waits(form) && kept().waiting.some((one) => one.name === name(form) && !one.refused)) event.preventDefault();
      else if (enter(form, todo)) event.preventDefault();
    });
  }
  send();
  setInterval(() => { if (!document.hidden) send(); }, 4000);
  addEventListener("focus", send);
  addEventListener("online", send);
  addEventListener("storage", (event) => { if (event.key === store) tell(); });
}
