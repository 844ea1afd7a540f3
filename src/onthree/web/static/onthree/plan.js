// Draws marks on the plan of a venue: by tapping, dragging, or with the arrow keys. The form holds what is drawn as text,
// so that numbers can be typed instead; the server reads nothing else.
"use strict";

(() => {
  const plan = document.getElementById("plan");
  const form = document.getElementById("plan-form");
  if (!plan || !form) return;
  const draft = document.getElementById("draft");
  const said = document.getElementById("plan-said");
  const text = document.getElementById("plan-drawn");
  const shapes = document.getElementById("plan-shape");
  const whole = form.querySelector('[data-does="whole"]');
  const least = { POINT: 1, LINESTRING: 2, POLYGON: 3 };
  let points = [];
  let cross = [0, 0];
  let held = null;

  const rounded = (value) => Math.round(value * 10) / 10 || 0;
  const shape = () => shapes.value;
  const isWhole = () => whole.getAttribute("aria-pressed") === "true";

  function read() {
    const match = text.value.trim().match(/^(POINT|LINESTRING|POLYGON)\s*\(+([^()]*)\)+$/i);
    if (!match) return;
    const pairs = match[2].split(",").map((pair) => pair.trim().split(/\s+/).map(Number));
    if (pairs.some((pair) => pair.length !== 2 || pair.some(Number.isNaN))) return;
    shapes.value = match[1].toUpperCase();
    points = pairs;
    const [first, last] = [points[0], points[points.length - 1]];
    if (shape() === "POLYGON" && points.length > 1 && first[0] === last[0] && first[1] === last[1]) points.pop();
    if (points.length) cross = [...points[points.length - 1]];
  }

  function write() {
    const closed = shape() === "POLYGON" && points.length ? [...points, points[0]] : points;
    const listed = closed.map((each) => each.map(rounded).join(" ")).join(", ");
    text.value = points.length ? (shape() === "POLYGON" ? `POLYGON ((${listed}))` : `${shape()} (${listed})`) : "";
    draw();
    tell();
  }

  function length() {
    const closed = shape() === "POLYGON" ? [...points, points[0]] : points;
    return closed.slice(1).reduce((sum, each, at) => sum + Math.hypot(each[0] - closed[at][0], each[1] - closed[at][1]), 0);
  }

  function place([x, y]) {
    const across = `${Math.abs(rounded(x))} m ${x >= 0 ? "right" : "left"}`;
    return `${across}, ${Math.abs(rounded(y))} m ${y >= 0 ? "up" : "down"} from the centre`;
  }

  function tell() {
    const missing = least[shape()] - points.length;
    const far = points.length > 1 ? ` ${Math.round(length())} m ${shape() === "POLYGON" ? "round it" : "along it"}.` : "";
    const more = missing > 0 ? ` ${missing} more needed.` : "";
    said.textContent = `${points.length} point${points.length === 1 ? "" : "s"}.${far}${more} Cross: ${place(cross)}.`;
  }

  function element(name, attributes) {
    const made = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    draft.append(made);
    return made;
  }

  function draw() {
    draft.replaceChildren();
    const listed = points.map(([x, y]) => `${x},${-y}`).join(" ");
    if (points.length > 1) element(shape() === "POLYGON" ? "polygon" : "polyline", { points: listed });
    points.forEach(([x, y], at) => element("circle", { cx: x, cy: -y, r: 2, "data-at": at }));
    element("path", { class: "cross", d: `M${cross[0] - 4} ${-cross[1]}h8M${cross[0]} ${-cross[1] - 4}v8` });
    for (const mark of plan.querySelectorAll("[data-mark]"))
      mark.classList.toggle("in-hand", mark.dataset.mark === plan.dataset.code && plan.dataset.code !== "");
  }

  function set(point) {
    cross = point.map(rounded);
    if (isWhole() && points.length) {
      shift(cross[0] - points[0][0], cross[1] - points[0][1]);
      return;
    }
    points = shape() === "POINT" ? [[...cross]] : [...points, [...cross]];
    write();
  }

  function shift(right, up) {
    points = points.map(([x, y]) => [rounded(x + right), rounded(y + up)]);
    write();
  }

  function under(event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(plan.getScreenCTM().inverse());
    return [rounded(at.x), rounded(-at.y)];
  }

  plan.addEventListener("pointerdown", (event) => {
    const handle = event.target.closest("[data-at]");
    if (!handle) return;
    held = Number(handle.dataset.at);
    plan.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  plan.addEventListener("pointermove", (event) => {
    if (held === null) return;
    const to = under(event);
    if (isWhole()) shift(to[0] - points[held][0], to[1] - points[held][1]);
    else {
      points[held] = to;
      write();
    }
  });
  plan.addEventListener("pointerup", () => setTimeout(() => { held = null; }));
  plan.addEventListener("pointercancel", () => { held = null; });
  plan.addEventListener("click", (event) => {
    if (held === null) set(under(event));
  });

  const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  plan.addEventListener("keydown", (event) => {
    const step = steps[event.key];
    if (step) {
      const far = event.shiftKey ? 10 : event.altKey ? 0.1 : 1;
      cross = [rounded(cross[0] + step[0] * far), rounded(cross[1] + step[1] * far)];
      if (isWhole() && points.length) shift(step[0] * far, step[1] * far);
      else {
        draw();
        tell();
      }
    } else if (event.key === "Enter" || event.key === " ") {
      if (!isWhole()) set(cross);
    } else if (event.key === "Backspace") {
      points.pop();
      write();
    } else return;
    event.preventDefault();
  });

  form.addEventListener("click", (event) => {
    const does = event.target.closest("[data-does]")?.dataset.does;
    if (does === "back") points.pop();
    else if (does === "clear") points = [];
    else if (does === "whole") whole.setAttribute("aria-pressed", String(!isWhole()));
    if (does === "back" || does === "clear") write();
  });
  shapes.addEventListener("change", () => {
    if (shape() === "POINT") points = points.slice(-1);
    write();
  });
  text.addEventListener("input", () => {
    read();
    draw();
  });

  read();
  draw();
})();
