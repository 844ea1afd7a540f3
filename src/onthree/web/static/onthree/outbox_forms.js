// Forms that go through the outbox: <form data-outbox="kind" data-lists="fields that are lists" data-label="words">.
// What was given appears at once at the form, in [data-answers] beside it and in [data-given], as waiting or sent.
import { drop, onChange, put, send } from "./outbox.js";

const NEVER_SENT = ["csrfmiddlewaretoken", "key", "next"];
const REMEMBERED = "onthree-who";
const IN_WORDS = { waiting: "waiting to be sent", sent: "sent", refused: "not taken" };

document.addEventListener("submit", (event) => {
  const form = event.target.closest("form[data-outbox]");
  if (!form) return;
  event.preventDefault();
  const body = bodyOf(form, event.submitter);
  if (body.who) sessionStorage.setItem(REMEMBERED, body.who);
  put(form.dataset.outbox, body, form.dataset.label || form.dataset.outbox).then(() => afterwards(form));
});

function bodyOf(form, submitter) {
  const given = new FormData(form, submitter), body = {}, lists = (form.dataset.lists || "").split(" ").filter(Boolean);
  for (const name of lists) body[name] = given.getAll(name);
  for (const [name, value] of given) if (!NEVER_SENT.includes(name) && !lists.includes(name)) body[name] = value;
  return body;
}

function afterwards(form) {
  for (const field of form.querySelectorAll("[name=note]")) field.value = "";
  remember();
  const next = form.closest("li")?.nextElementSibling?.querySelector("form [name=who]");
  if (next && form.contains(document.activeElement)) next.focus({ preventScroll: false });
}

function remember() {
  const who = sessionStorage.getItem(REMEMBERED);
  for (const field of document.querySelectorAll("[data-remember=who]")) if (!field.value && who) field.value = who;
}

function show(status, kept) {
  const line = document.querySelector("[data-outbox-status]");
  if (line) {
    const said = inWords(status);
    if (line.textContent !== said) line.textContent = said;
    line.parentElement.classList.toggle("is-waiting", status.waiting > 0);
    showSignIn(line, status);
    showSave(line, status, kept);
    showRefused(status.refused);
  }
  for (const item of kept) showItem(item);
}

function inWords(status) {
  const loaded = document.querySelector("[data-loaded]")?.dataset.loaded || "";
  const from = loaded ? `This page is of ${loaded}.` : "";
  if (status.unkept) return `${status.waiting} waiting, ${status.unkept} of them only as long as this page is open: this device has no space to keep more. Save them as a file, or write them on paper.`;
  if (status.unread) return `What is kept on this device cannot be read (${status.unread}). Load this page again; what you answer until then, write on paper too.`;
  if (status.failed) return `${status.waiting} waiting. ${status.failed}`;
  if (status.waiting && status.signIn) return `${status.waiting} waiting. ${status.signIn}`;
  if (status.offline) return `${status.waiting} waiting. No connection to the server. ${from}`;
  if (status.waiting) return `${status.waiting} waiting.`;
  return `Nothing is waiting. ${from}`;
}

function showSignIn(line, status) {
  const there = line.parentElement.querySelector("a.sign-in");
  if (!status.signIn || !status.waiting) { if (there) there.remove(); return; }
  if (there) return;
  const link = document.createElement("a");
  link.className = "go sign-in";
  link.href = `/sign-in/?next=${encodeURIComponent(location.pathname + location.search)}`;
  link.textContent = "Sign in to send";
  line.after(link);
}

// Where nothing can be sent at all, a file carries it: the event page takes it in, each answer once.
function showSave(line, status, kept) {
  const there = line.parentElement.querySelector("a.save");
  if (there) { URL.revokeObjectURL(there.href); there.remove(); }
  if (!status.waiting || !(status.offline || status.failed || status.unkept)) return;
  const answers = kept.filter((item) => item.state === "waiting").map(({ key, kind, body, label, at_client }) => ({ key, kind, body, label, at_client }));
  const link = document.createElement("a");
  link.className = "save";
  link.href = URL.createObjectURL(new Blob([JSON.stringify({ format: "onthree answers 1", answers }, null, 1)], { type: "application/json" }));
  link.download = "answers.json";
  link.textContent = "Save them as a file";
  line.after(link);
}

function showRefused(refused) {
  const list = document.querySelector("[data-outbox-refused]");
  if (!list) return;
  list.hidden = !refused.length;
  list.replaceChildren(...refused.map((item) => {
    const row = document.createElement("li"), button = document.createElement("button");
    row.textContent = `Not taken: ${item.label || item.kind}, ${clock(item.at_client)}. ${item.why} `;
    button.type = "button";
    button.textContent = "Forget it";
    button.addEventListener("click", () => drop(item.key));
    row.append(button);
    return row;
  }));
}

function showItem(item) {
  if (item.result && document.querySelector(`[data-code="${CSS.escape(item.result.code || "")}"]:not([data-key])`)) {
    document.querySelectorAll(`[data-key="${item.key}"]`).forEach((each) => each.remove());
    return;
  }
  const own = [...document.querySelectorAll(`form[data-outbox="${CSS.escape(item.kind)}"]`)].find((form) => isAbout(form, item.body));
  if (!own) return;
  const answers = own.parentElement.querySelector("[data-answers]");
  const said = item.body.answer || item.body.done || item.kind, note = item.body.note ? `: ${item.body.note}` : "";
  const when = `${clock(item.at_client)}, ${IN_WORDS[item.state]}`;
  if (answers) lineOf(answers, item, "li", [said, `: ${item.body.who || ""}, ${when}${note}`]);
  const given = document.querySelector("[data-given]");
  if (given && item.state !== "refused") rowOf(given, item, [own.closest("li")?.querySelector("h2")?.firstChild.textContent.trim() || item.label, said + note, item.body.who || "", when]);
  const standing = own.parentElement.querySelector("[data-standing]");
  if (standing && item.state !== "refused") {
    standing.textContent = said;
    standing.className = `status standing-${said.replaceAll(" ", "-")}`;
  }
}

// The hidden fields of a form say what it is about.
function isAbout(form, body) {
  const lists = (form.dataset.lists || "").split(" ");
  return [...form.querySelectorAll("input[type=hidden]")].every(
    (field) => NEVER_SENT.includes(field.name) || lists.includes(field.name) || body[field.name] === field.value,
  );
}

function lineOf(list, item, tag, [strong, rest]) {
  let line = list.querySelector(`[data-key="${item.key}"]`);
  if (!line) {
    line = document.createElement(tag);
    line.dataset.key = item.key;
    line.append(document.createElement("strong"), "");
    list.append(line);
  }
  line.dataset.state = item.state;
  line.firstChild.textContent = strong[0].toUpperCase() + strong.slice(1);
  line.lastChild.textContent = rest;
}

function rowOf(table, item, cells) {
  let row = table.querySelector(`[data-key="${item.key}"]`);
  if (!row) {
    row = document.createElement("tr");
    row.dataset.key = item.key;
    row.setAttribute("role", "row");
    cells.forEach((_, place) => {
      const cell = document.createElement(place ? "td" : "th");
      cell.setAttribute("role", place ? "cell" : "rowheader");
      if (!place) cell.scope = "row";
      row.append(cell);
    });
    table.append(row);
  }
  row.dataset.state = item.state;
  cells.forEach((text, place) => { row.children[place].textContent = text; });
}

function clock(iso) {
  const at = new Date(iso);
  return `${String(at.getHours()).padStart(2, "0")}:${String(at.getMinutes()).padStart(2, "0")}`;
}

remember();
onChange(show);
send();
