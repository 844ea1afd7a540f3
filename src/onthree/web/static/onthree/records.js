// A tap on a code that was looked for writes it into the field: beside the others where the field takes many.
"use strict";

document.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-code]");
  const list = button && button.closest("[data-fills]");
  if (!list) return;
  const field = document.getElementById(list.dataset.fills);
  const there = field.value.split(",").map((each) => each.trim()).filter(Boolean);
  const codes = there.map((each) => each.split("@")[0]);
  if (!list.dataset.adds) field.value = button.dataset.code;
  else if (!codes.includes(button.dataset.code)) field.value = [...there, button.dataset.code].join(", ");
  field.dispatchEvent(new Event("input", { bubbles: true }));
  field.focus();
});

document.addEventListener("DOMContentLoaded", () => {
  const problems = document.querySelector(".problems");
  if (problems) {
    problems.tabIndex = -1;
    problems.focus();
  }
});
