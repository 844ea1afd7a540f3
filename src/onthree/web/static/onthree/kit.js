// The script of the one-file kit: answers are kept in the browser that opened the file, and saved as a file on request.
"use strict";

(() => {
  const kit = document.body.dataset, name = `onthree-kit ${kit.event} ${kit.made}`;
  let answers = [];
  try {
    answers = JSON.parse(localStorage.getItem(name) || "[]");
    localStorage.setItem(name, JSON.stringify(answers));
  } catch {
    document.getElementById("kept").textContent = "This browser keeps nothing for this file: save the answers before you close it.";
  }

  function newKey() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
  }

  function keep() {
    try {
      localStorage.setItem(name, JSON.stringify(answers));
    } catch {
      document.getElementById("kept").textContent = "This browser keeps nothing more: save the answers now.";
    }
  }

  function show() {
    document.getElementById("count").textContent = `${answers.length} answers kept in this browser.`;
    for (const one of answers) {
      const list = document.querySelector(`[data-about="${CSS.escape(one.about)}"] [data-answers]`);
      if (!list || list.querySelector(`[data-key="${one.key}"]`)) continue;
      const line = document.createElement("li"), at = new Date(one.at_client);
      line.dataset.key = one.key;
      line.textContent = `${one.body.answer || one.body.done}: ${one.body.who}, ${at.toTimeString().slice(0, 5)}${one.body.note ? `: ${one.body.note}` : ""}`;
      list.append(line);
    }
  }

  document.addEventListener("submit", (event) => {
    const form = event.target.closest("form[data-kind]");
    if (!form) return;
    event.preventDefault();
    const given = new FormData(form, event.submitter), body = Object.fromEntries(given);
    if (given.has("told")) body.told = given.getAll("told");
    answers.push({ key: newKey(), kind: form.dataset.kind, body, about: form.closest("li").dataset.about, at_client: new Date().toISOString() });
    for (const field of document.querySelectorAll("[name=who]")) if (!field.value) field.value = body.who;
    form.querySelector("[name=note]").value = "";
    keep();
    show();
  });

  document.getElementById("save").addEventListener("click", () => {
    const content = JSON.stringify({ format: kit.format, event: kit.event, answers: answers.map(({ about, ...one }) => one) }, null, 1);
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([content], { type: "application/json" }));
    link.download = `answers-${kit.event}-${new Date().toISOString().slice(0, 16).replaceAll(":", "")}.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  });

  show();
})();
