// Records a run: every tap is kept on this device first, then sent. What is shown is worked out from the taps alone.
import * as runSending from "./run-sending.js";

(() => {
  const data = JSON.parse(document.getElementById("run-data").textContent);
  const element = (id) => document.getElementById(id);
  const CLOCK_MOVED_S = 2;
  const nowMs = () => performance.timeOrigin + performance.now();
  const titleOf = (id) => (data.techniques[id] ? data.techniques[id].title : id);
  let log = null;
  let shown = null;
  let outbox = {};

  // The log of a run: the state it began from, and every tap since

  const opened = () => {
    const code = data.run ? data.run.code : decodeURIComponent(location.hash.slice(1));
    const kept = code ? runSending.read(code) : null;
    if (!data.run) return kept;
    const hasArrived = kept && kept.items.every((item) => item.state === "refused" || data.received.includes(item.key));
    if (kept && !hasArrived) return kept;
    runSending.drop(code);
    return { code, base: data.run, went_ms: data.went_ms, sequence: data.sequence, items: [] };
  };

  const applied = {
    phase: (state, item) => {
      const last = state.phases.at(-1);
      if (last && last.end_s === null) last.end_s = item.body.at_s;
      state.phases.push({ code: runSending.codeOf("PH", item.key), technique: item.body.technique, start_s: item.body.at_s, end_s: null });
    },
    "end-phase": (state, item) => {
      const last = state.phases.at(-1);
      if (last && last.end_s === null) last.end_s = item.body.at_s;
    },
    incident: (state, item) => state.incidents.push({ code: runSending.codeOf("IN", item.key), kind: item.body.kind, moment_s: item.body.at_s }),
    "end-run": (state, item) => {
      applied["end-phase"](state, item);
      state.lasted_s = item.body.at_s;
    },
    undo: (state, item) => {
      const code = item.body.code;
      state.incidents = state.incidents.filter((one) => one.code !== code);
      const gone = state.phases.find((one) => one.code === code);
      if (!gone) return;
      state.phases = state.phases.filter((one) => one !== gone);
      const last = state.phases.at(-1);
      if (last && last.end_s === gone.start_s) last.end_s = null;
    },
    "open-again": (state) => {
      const last = state.phases.at(-1);
      const hadEnded = state.lasted_s !== null;
      if (last && (!hadEnded || last.end_s === state.lasted_s)) last.end_s = null;
      state.lasted_s = null;
    },
    effort: (state, item) => {
      const role = state.roles.find((one) => one.code === item.body.role);
      if (role) role.effort = item.body.effort;
    },
    guess: (state, item) => {
      state.guess_deg = item.body.guess_deg;
      state.guess_plane = item.body.plane;
    },
  };

  const stateNow = () => {
    const state = structuredClone(log.base);
    state.last = [];
    for (const item of log.items) {
      if (item.state === "refused" || item.kind !== "run-tap") continue;
      if (applied[item.body.what]) applied[item.body.what](state, item);
      if (["undo", "open-again"].includes(item.body.what)) state.last.pop();
      else if (["phase", "end-phase", "incident", "end-run"].includes(item.body.what)) state.last.push(item);
    }
    return state;
  };

  const atS = () => Math.round(nowMs() - log.went_ms) / 1000;

  // A page that was closed goes on by the time of day of this device, which may have been set meanwhile, or be that of
  // another device. The server knows when the clock was started, by its own time of day.
  const restoreClock = async () => {
    if (!log.went_ms || stateNow().lasted_s !== null) return;
    const began = performance.now();
    const answer = await fetch(`/api/films/runs/${encodeURIComponent(log.code)}/clock`, { headers: { Accept: "application/json" } }).catch(() => null);
    const running = answer && answer.ok ? (await answer.json()).running_s : null;
    if (running === null) return (element("clock-told").textContent = "The clock was restored from this device's time of day: if that was set meanwhile, what is timed from now on is wrong.");
    const tookS = (performance.now() - began) / 1000;
    const wentMs = nowMs() - (running + tookS / 2) * 1000;
    if (Math.abs(wentMs - log.went_ms) < (CLOCK_MOVED_S + tookS) * 1000) return;
    log = { ...(runSending.read(log.code) || log), went_ms: wentMs };
    runSending.keep(log);
    element("clock-told").textContent = `This device's time of day is not what it was when the clock was started: the clock was restored from the server, to within about ${Math.ceil(tookS + 1)} s.`;
    draw();
  };

  const tap = (what, more = {}) => {
    log = runSending.read(log.code) || log;
    const body = { run: log.code, what, ...more };
    log.items.push({ key: runSending.newKey(), kind: "run-tap", body, at: new Date(nowMs()).toISOString(), state: "waiting" });
    runSending.keep(log);
    draw();
    runSending.send(log);
  };

  // The taps

  const next = (state) => log.sequence[state.phases.length];

  const deeds = {
    next: () => {
      const state = stateNow();
      if (state.lasted_s !== null) return;
      if (!log.went_ms) {
        log.went_ms = nowMs();
        runSending.keep(log);
        tap("go", { at_ms: log.went_ms });
      } else if (next(state)) tap("phase", { technique: next(state), at_s: atS() });
      else if (log.sequence.length) deeds.endRun();
      else element("other").focus();
    },
    other: () => log.went_ms && stateNow().lasted_s === null && tap("phase", { technique: element("other").value, at_s: atS() }),
    endPhase: () => {
      const last = stateNow().phases.at(-1);
      if (last && last.end_s === null) tap("end-phase", { at_s: atS() });
    },
    endRun: () => log.went_ms && stateNow().lasted_s === null && tap("end-run", { at_s: atS() }),
    incident: (kind) => log.went_ms && stateNow().lasted_s === null && tap("incident", { kind, at_s: atS() }),
    undo: () => {
      const item = stateNow().last.at(-1);
      if (!item) return;
      const prefix = { phase: "PH", incident: "IN" }[item.body.what];
      if (prefix) tap("undo", { code: runSending.codeOf(prefix, item.key) });
      else tap("open-again");
    },
  };

  // What is shown

  const words = { phase: (body) => titleOf(body.technique), incident: (body) => body.kind, "end-phase": () => "phase over", "end-run": () => "run over" };

  const clockOf = (seconds) => `${Math.floor(seconds / 60)}:${(seconds % 60).toFixed(1).padStart(4, "0")}`;

  const drawClock = () => {
    if (!shown) return;
    const state = shown;
    const seconds = state.lasted_s !== null ? state.lasted_s : log.went_ms ? atS() : 0;
    element("clock").textContent = clockOf(Math.max(seconds, 0));
  };

  const line = (text, isRefused) => {
    const made = document.createElement("li");
    made.textContent = text;
    if (isRefused) made.className = "not-taken";
    return made;
  };

  const drawTaps = (state) => {
    const marks = [
      ...state.phases.map((one) => [one.start_s, `${clockOf(one.start_s)} ${titleOf(one.technique)}${one.end_s === null ? "" : `, until ${clockOf(one.end_s)}`}`]),
      ...state.incidents.map((one) => [one.moment_s, `${clockOf(one.moment_s)} ${one.kind}`]),
    ].sort((one, other) => other[0] - one[0]);
    element("tapped").replaceChildren(...marks.map((mark) => line(mark[1])));
    const refused = log.items.filter((item) => item.state === "refused");
    const box = element("refused");
    box.hidden = !refused.length;
    const said = refused.map((item) => line(`${item.kind === "run-start" ? "The start" : (words[item.body.what] || (() => item.body.what))(item.body)}: ${item.why}`, true));
    const list = document.createElement("ul");
    list.replaceChildren(...said);
    const head = document.createElement("h2");
    head.textContent = "Not taken by the server; correct it under Records";
    box.replaceChildren(head, list);
  };

  const drawEfforts = (state) => {
    const box = element("efforts");
    if (box.childElementCount === state.roles.length) {
      for (const role of state.roles) for (const one of box.querySelectorAll(`[data-role="${CSS.escape(role.code)}"] input`)) one.checked = Number(one.value) === role.effort && role.effort !== null;
      return;
    }
    box.replaceChildren(...state.roles.map((role) => {
      const group = document.createElement("fieldset");
      group.className = "field effort";
      group.dataset.role = role.code;
      const legend = document.createElement("legend");
      legend.textContent = role.role;
      group.append(legend);
      for (let effort = 0; effort <= 10; effort += 1) {
        const label = document.createElement("label");
        const input = document.createElement("input");
        Object.assign(input, { type: "radio", name: `effort-${role.code}`, value: effort, checked: role.effort === effort });
        input.addEventListener("change", () => tap("effort", { role: role.code, effort }));
        label.append(input, ` ${effort}`);
        group.append(label);
      }
      return group;
    }));
  };

  const draw = () => {
    const state = (shown = stateNow());
    const isOver = state.lasted_s !== null;
    const open = state.phases.at(-1) && state.phases.at(-1).end_s === null ? state.phases.at(-1) : null;
    element("run-code").textContent = log.code;
    element("now").textContent = isOver ? "over" : open ? `now: ${titleOf(open.technique)}` : log.went_ms ? "between techniques" : "not started";
    const following = next(state);
    element("tap-next").textContent = isOver ? "Run is over" : !log.went_ms ? "Start the clock" : following ? `Next: ${titleOf(following)}` : log.sequence.length ? "Run over" : "Choose the technique below";
    const canTap = Boolean(log.went_ms) && !isOver;
    const hadFocus = ["taps", "live"].some((id) => element(id).contains(document.activeElement));
    element("taps").hidden = element("live").hidden = isOver;
    element("tap-end-phase").disabled = !open;
    element("tap-end-run").disabled = element("tap-other").disabled = !canTap;
    for (const each of document.querySelectorAll(".incident")) each.disabled = !canTap;
    const last = state.last.at(-1);
    element("tap-undo").disabled = !last;
    element("undo-what").textContent = last ? words[last.body.what](last.body) : "";
    element("after").hidden = !isOver;
    if (isOver && hadFocus) element("after-title").focus(); // what had it is hidden now
    if (isOver) drawEfforts(state);
    const run = `${data.address}${encodeURIComponent(log.code)}/`;
    element("to-run").href = run;
    element("to-debrief").href = `${run}debrief/`;
    element("to-films").href = `${run}films/`;
    drawTaps(state);
    drawClock();
    drawSending();
  };

  const drawSending = () => {
    const waiting = (log ? log.items : runSending.all().flatMap((one) => one.items)).filter((item) => item.state === "waiting").length;
    const onlyHere = log && runSending.isOnlyHere(log.code) ? "This device has no space to keep this run: keep the page open until all is sent." : "";
    const why = onlyHere || outbox.signIn || outbox.failed || (outbox.offline ? "No connection." : "");
    const kept = document.documentElement.dataset.kept === "all" ? "This page opens without a connection too." : window.isSecureContext ? "" : "Keep this page open: without https it cannot be opened again while there is no connection.";
    element("sending").textContent = `${waiting ? `${waiting} waiting on this device. ${why}` : "All sent."} ${kept}`.trim();
  };

  // Starting a run

  const refusals = (fields) => {
    const told = [];
    if (!fields.stand_in) told.push("Stand-in: say dummy or volunteer; a run is never done with a patient");
    if (fields.spotters !== "yes") told.push("Spotters: place them first, then say yes");
    if (fields.stand_in === "volunteer") {
      if (fields.consent !== "yes") told.push("Consent recorded: a volunteer's is needed, and that of everybody in the run");
      if (!fields.stand_in_age_group) told.push("Stand-in age: nobody under age without permission, so say it");
      else if (fields.stand_in_age_group !== "adult" && fields.permission !== "yes") told.push("Permission recorded: a volunteer under age needs that of a parent or guardian, on paper");
    }
    return told;
  };

  const started = (form) => {
    const given = Object.fromEntries(new FormData(form));
    const fields = {};
    for (const name of Object.keys(given)) if (!/^(csrfmiddlewaretoken|look-for|was-.*|(step|role|responder|somebody)-\d+)$/.test(name)) fields[name] = given[name];
    const told = refusals(fields);
    const box = element("start-problems");
    box.hidden = !told.length;
    box.querySelector("ul").replaceChildren(...told.map((text) => line(text)));
    if (told.length) {
      box.tabIndex = -1;
      box.focus();
      return;
    }
    const numbers = (stem) => Object.keys(given).filter((name) => name.startsWith(`${stem}-`)).map((name) => name.slice(stem.length + 1));
    const roles = numbers("role").filter((n) => given[`role-${n}`]).map((n) => ({ role: given[`role-${n}`], responder: given[`responder-${n}`], somebody: given[`somebody-${n}`] }));
    const sequence = numbers("step").map((n) => given[`step-${n}`]).filter(Boolean);
    const key = runSending.newKey();
    const code = runSending.codeOf("RUN", key);
    const base = { code, lasted_s: null, guess_deg: null, guess_plane: null, phases: [], incidents: [], roles: roles.map((one, index) => ({ code: `RR-${code.slice(4)}-${index + 1}`, role: one.role, effort: null })) };
    const start = { key, kind: "run-start", body: { fields, roles, sequence }, at: new Date(nowMs()).toISOString(), state: "waiting" };
    log = { code, base, went_ms: null, sequence, items: [start] };
    runSending.keep(log);
    location.hash = encodeURIComponent(code);
    show();
    runSending.send(log);
  };

  const show = () => {
    element("recording").hidden = false;
    if (element("starting")) element("starting").hidden = true;
    draw();
    element("tap-next").focus();
  };

  const offerKept = () => {
    const list = element("kept-here");
    const begun = runSending.all().filter((one) => one.items.some((item) => item.state === "waiting"));
    list.hidden = !begun.length;
    list.replaceChildren(...begun.map((one) => {
      const made = document.createElement("li");
      const link = document.createElement("a");
      link.href = `#${encodeURIComponent(one.code)}`;
      link.textContent = `Go on with ${one.code}`;
      link.addEventListener("click", () => setTimeout(() => location.reload(), 0));
      made.append(link, `, ${one.items.filter((item) => item.state === "waiting").length} waiting on this device`);
      return made;
    }));
  };

  // Wiring

  const keys = { n: deeds.next, e: deeds.endPhase, u: deeds.undo, o: deeds.endRun };
  addEventListener("keydown", (event) => {
    if (!log || !element("keys").checked || event.ctrlKey || event.altKey || event.metaKey || event.repeat) return;
    if (event.target.matches("input:not([type=checkbox]):not([type=radio]), select, textarea")) return;
    const kind = data.incidents[Number(event.key) - 1];
    if (keys[event.key.toLowerCase()]) keys[event.key.toLowerCase()]();
    else if (kind) deeds.incident(kind);
    else return;
    event.preventDefault();
  });
  element("tap-next").addEventListener("click", deeds.next);
  element("tap-end-phase").addEventListener("click", deeds.endPhase);
  element("tap-undo").addEventListener("click", deeds.undo);
  element("tap-end-run").addEventListener("click", deeds.endRun);
  element("tap-other").addEventListener("click", deeds.other);
  element("tap-guess").addEventListener("click", () => {
    const guess = Number(element("guess-deg").value.replace(",", "."));
    const isRead = element("guess-deg").value.trim() && guess >= 0 && guess <= 180;
    element("guess-told").textContent = isRead ? "Kept." : "A number from 0 to 180 is expected.";
    if (isRead) tap("guess", { guess_deg: guess, plane: element("guess-plane").value });
  });
  for (const each of document.querySelectorAll(".incident")) each.addEventListener("click", () => deeds.incident(each.dataset.kind));
  if (element("start-form")) {
    element("start-form").addEventListener("submit", (event) => {
      event.preventDefault();
      started(event.target);
    });
    offerKept();
    const now = new Date();
    const today = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((each) => String(each).padStart(2, "0")).join("-");
    if (data.made_on !== today) element("field-day").value = today; // a page that was kept from another day
  }
  element("to-next").addEventListener("click", (event) => {
    if (location.pathname !== new URL(event.target.href).pathname) return;
    event.preventDefault();
    location.hash = "";
    location.reload();
  });
  runSending.whenChanged((status) => {
    outbox = status;
    if (log) log = runSending.read(log.code) || log;
    if (log) draw();
    drawSending();
  });
  setInterval(drawClock, 100);
  log = opened();
  if (log) show();
  if (log) restoreClock();
  drawSending();
  for (const one of runSending.all()) runSending.send(one);
})();
