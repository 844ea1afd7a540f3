// The script of the one-file kit: answers are kept in the browser that opened the file, and saved as a file on request.
"use strict";

(() => {
  const kit = document.body.dataset, name = `onthree-kit ${kit.event} ${kit.made}`;
  let answers = [], isKept = true;

  function newKey() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
  }

  // The same file may be open twice: what the other one kept is kept too.
  function keep() {
    try {
      const there = JSON.parse(localStorage.getItem(name) || "[]"), known = new Set(there.map((one) => one.key));
      answers = [...there, ...answers.filter((one) => !known.has(one.key))];
      localStorage.setItem(name, JSON.stringify(answers));
      isKept = true;
    } catch {
      isKept = false;
    }
    show();
  }

  function show() {
    document.getElementById("count").textContent = isKept
      ? `${answers.length} answers kept in this browser.`
      : `${answers.length} answers, not all kept in this browser: save them as a file now, before you close this page.`;
    for (const one of answers) {
      const list = document.querySelector(`[data-about="${CSS.escape(one.about)}"] [data-answers]`);
      if (!list || list.querySelector(`[data-key="${one.key}"]`)) continue;
      const line = document.createElement("li"), at = new Date(one.at_client);
      line.dataset.key = one.key;
      line.textContent = `${one.body.answer || one.body.done}: ${one.body.who}, ${at.toTimeString().slice(0, 5)}${one.body.note ? `: ${one.body.note}` : ""}`;
      list.append(line);
    }
    showRun();
  }

  document.addEventListener("submit", (event) => {
    const form = event.target.closest("form[data-kind]");
    if (!form) return;
    event.preventDefault();
    if (form.dataset.kind === "run-start") { startRun(form); return; }
    const given = new FormData(form, event.submitter), body = Object.fromEntries(given);
    if (given.has("told")) body.told = given.getAll("told");
    answers.push({ key: newKey(), kind: form.dataset.kind, body, about: form.closest("li").dataset.about, at_client: new Date().toISOString() });
    for (const field of document.querySelectorAll("[name=who]")) if (!field.value) field.value = body.who;
    form.querySelector("[name=note]").value = "";
    keep();
  });

  document.getElementById("save").addEventListener("click", () => {
    const content = JSON.stringify({ format: kit.format, event: kit.event, made: kit.made, answers: answers.map(({ about, ...one }) => one) }, null, 1);
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([content], { type: "application/json" }));
    link.download = `answers-${kit.event}-${new Date().toISOString().slice(0, 16).replaceAll(":", "")}.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  });

  // A run: its start, then a tap for each thing that happens, as the pages send them. Undone is what came last.

  const element = (id) => document.getElementById(id);
  const codeOf = (prefix, key) => `${prefix}-${key.replaceAll("-", "").slice(0, 12).toUpperCase()}`;
  const nowMs = () => performance.timeOrigin + performance.now();
  const clockOf = (seconds) => `${Math.floor(seconds / 60)}:${(seconds % 60).toFixed(1).padStart(4, "0")}`;

  function runNow() {
    const start = answers.filter((one) => one.kind === "run-start").at(-1);
    if (!start) return null;
    const code = codeOf("RUN", start.key), live = [];
    let wentMs = 0;
    for (const { key, kind, body } of answers) {
      if (kind !== "run-tap" || body.run !== code) continue;
      if (body.what === "go") wentMs = body.at_ms;
      else if (body.what === "undo" || body.what === "open-again") live.pop();
      else if ("at_s" in body) live.push({ key, ...body });
    }
    const isOpen = live.filter((tap) => tap.what !== "incident").at(-1)?.what === "phase";
    return { code, roles: start.body.roles, wentMs, live, isOpen, isOver: live.some((tap) => tap.what === "end-run") };
  }

  function startRun(form) {
    const given = Object.fromEntries(new FormData(form)), roles = [], fields = {};
    for (const [field, value] of Object.entries(given)) if (!/^(role|somebody)-/.test(field)) fields[field] = value;
    for (let n = 1; given[`role-${n}`] !== undefined; n += 1)
      if (given[`role-${n}`]) roles.push({ role: given[`role-${n}`], responder: "", somebody: given[`somebody-${n}`] });
    answers.push({ key: newKey(), kind: "run-start", body: { fields, roles, sequence: [] }, at_client: new Date().toISOString() });
    keep();
    element("run-go").focus();
  }

  function tap(what, more = {}) {
    const run = runNow();
    answers.push({ key: newKey(), kind: "run-tap", body: { run: run.code, what, ...more }, at_client: new Date().toISOString() });
    keep();
  }

  const atS = () => Math.round(nowMs() - runNow().wentMs) / 1000;

  const deeds = {
    go: () => tap("go", { at_ms: nowMs() }),
    phase: () => tap("phase", { technique: element("run-technique").value, at_s: atS() }),
    "end-phase": () => tap("end-phase", { at_s: atS() }),
    "end-run": () => tap("end-run", { at_s: atS() }),
    incident: (button) => tap("incident", { kind: button.value, at_s: atS() }),
    undo: () => {
      const last = runNow().live.at(-1), prefix = { phase: "PH", incident: "IN" }[last.what];
      if (prefix) tap("undo", { code: codeOf(prefix, last.key) });
      else tap("open-again");
    },
    guess: () => {
      const typed = element("run-guess").value.trim(), guess = Number(typed.replace(",", ".")), isRead = typed && guess >= 0 && guess <= 180;
      if (isRead) tap("guess", { guess_deg: guess, plane: element("run-plane").value });
      element("run-kept").textContent = isRead ? "Kept." : "A number from 0 to 180 is expected.";
    },
  };

  function showRun() {
    const run = runNow(), isGoing = run && !run.isOver;
    element("run-start").hidden = isGoing;
    element("run-taps").hidden = !isGoing;
    element("run-after").hidden = !run || isGoing;
    if (!run) return;
    for (const button of document.querySelectorAll("[data-tap]"))
      button.disabled = { go: run.wentMs, "end-phase": !run.isOpen, undo: !run.live.length, guess: false }[button.dataset.tap] ?? !run.wentMs;
    const name = (one) => one.kind || { "end-phase": "phase over", "end-run": "run over" }[one.what] || element("run-technique").querySelector(`[value="${one.technique}"]`).textContent;
    element("run-tapped").replaceChildren(...run.live.map((one) => Object.assign(document.createElement("li"), { textContent: `${clockOf(one.at_s)} ${name(one)}` })));
    element("run-code").textContent = `${run.code}${run.isOver ? ", over" : run.wentMs ? "" : ", clock not started"}`;
    showEfforts(run);
  }

  function showEfforts(run) {
    const box = element("run-efforts");
    if (box.dataset.run === run.code) return;
    box.dataset.run = run.code;
    box.replaceChildren(...run.roles.map(({ role }, place) => {
      const field = document.createElement("div"), label = document.createElement("label"), choice = document.createElement("select");
      field.className = "field";
      choice.id = label.htmlFor = `run-effort-${place + 1}`;
      label.textContent = role;
      choice.append(new Option("not asked", ""), ...Array.from({ length: 11 }, (_, effort) => new Option(effort)));
      choice.addEventListener("change", () => tap("effort", { role: `RR-${run.code.slice(4)}-${place + 1}`, effort: choice.value ? Number(choice.value) : null }));
      field.append(label, choice);
      return field;
    }));
  }

  document.addEventListener("click", ({ target }) => {
    const button = target.closest("[data-tap]");
    if (button) deeds[button.dataset.tap](button);
  });

  // What a run with a volunteer needs first; without it the start would be refused later.
  element("run-start").addEventListener("change", ({ currentTarget: form }) => {
    const isVolunteer = form.stand_in.value === "volunteer", age = form.stand_in_age_group.value;
    form.consent.required = form.stand_in_age_group.required = isVolunteer;
    form.permission.required = isVolunteer && age !== "" && age !== "adult";
  });
  const today = new Date();
  element("run-day").value = [today.getFullYear(), today.getMonth() + 1, today.getDate()].map((each) => String(each).padStart(2, "0")).join("-");

  addEventListener("storage", keep);
  addEventListener("beforeunload", (event) => { if (!isKept && answers.length) event.preventDefault(); });
  keep();
})();
