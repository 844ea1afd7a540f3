// Sends a film in pieces. The key of a film follows from the run and the file, so the same file goes on where it stopped.
"use strict";

(() => {
  const form = document.getElementById("upload");
  const element = (id) => document.getElementById(id);
  const TRY_AGAIN_MS = 3000;
  const LONGEST_ANSWER_MS = 60000;
  const LEAST_PIECE = 65536;
  const SLOW_MS = 4000;
  const SAY_EVERY_MS = 1000;
  const MOST_TRIES_OF_A_PIECE = 5;
  let isPaused = false;
  let isCalledOff = false;
  let isBusy = false;
  let saidMs = 0;
  let address = "";
  let token = "";

  const say = (text) => (element("upload-told").textContent = text);

  const hexOf = async (text) => [...new Uint8Array(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text)))].map((each) => each.toString(16).padStart(2, "0")).join("");

  const keyOf = async (file) => {
    const hex = await hexOf([form.dataset.run, file.name, file.size, file.lastModified].join("\n"));
    return [hex.slice(0, 8), hex.slice(8, 12), `4${hex.slice(13, 16)}`, `8${hex.slice(17, 20)}`, hex.slice(20, 32)].join("-");
  };

  class Stop extends Error {}

  const wait = (ms) => new Promise((done) => setTimeout(done, ms));

  const mayGoOn = async () => {
    while (isPaused && !isCalledOff) await wait(200);
    if (isCalledOff) throw new Stop("Called off.");
  };

  // One try. Null, after saying why, where nothing came back or where a person must do something before it can go on.
  const once = async (method, more = {}) => {
    const asked = (where, options) => fetch(where, { ...options, signal: AbortSignal.timeout(LONGEST_ANSWER_MS) });
    let answer = null;
    try {
      const me = token ? null : await asked("/api/me", { headers: { Accept: "application/json" } });
      if (me && me.ok) token = (await me.json()).csrf;
      answer = me && !me.ok ? me : await asked(address, { method, ...more, headers: { ...more.headers, "X-CSRFToken": token } });
    } catch {
      say("No connection: the film waits, and goes on by itself.");
      return null;
    }
    if (answer.status === 401 || answer.status === 403) token = ""; // who signs in has a new one
    if (answer.status === 401) say("Sign in again in another tab: the film waits, and goes on by itself.");
    else if (answer.status === 403) say(`Sign in as somebody who may send films: the film waits. ${await told(answer)}`);
    else if (answer.status === 507) say(`${await told(answer)}. The film waits.`);
    else if (answer.status >= 500) say("The server had to stop for a moment: the film waits, and goes on by itself.");
    else return answer;
    return null;
  };

  // Asks until an answer comes; only what a person must mend, or calls off, ends it.
  const ask = async (method, more = {}) => {
    for (;;) {
      await mayGoOn();
      const answer = await once(method, more);
      if (answer) return answer;
      await wait(TRY_AGAIN_MS);
    }
  };

  const told = async (answer) => {
    const said = await answer.json().catch(() => ({}));
    return typeof said.detail === "string" ? said.detail : `not taken (${answer.status})`;
  };

  const digestOf = async (piece) => {
    const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", piece));
    return `sha-256=:${btoa(String.fromCharCode(...sum))}:`;
  };

  const seconds = (text) => (text.trim() ? Number(text.replace(",", ".")) : null);

  const declared = async (file) => {
    const offset = seconds(element("offset").value);
    if (Number.isNaN(offset)) throw new Stop("Begins at: a number is expected.");
    const body = JSON.stringify({ run: form.dataset.run, name: file.name, size_bytes: file.size, kind: element("kind").value, taken_by: element("taken-by").value, offset_s: offset });
    const answer = await ask("PUT", { headers: { "Content-Type": "application/json" }, body });
    if (!answer.ok) throw new Stop(await told(answer));
    return answer.json();
  };

  // After a piece that nobody answered the server is asked what it has, so that nothing it has is sent again. On a bad
  // line pieces become smaller, on a good one larger.
  const sendAll = async (file) => {
    let there = await declared(file);
    let tries = 0;
    let pieceBytes = LEAST_PIECE;
    const rate = { msPerByte: null };
    while (!there.recording && !there.problem) {
      await mayGoOn();
      const at = there.offset_bytes;
      const piece = file.slice(at, at + pieceBytes); // sent from the file: the page holds it only while it sums it up
      const headers = { "Content-Type": "application/partial-upload", "Upload-Offset": String(at), "Content-Digest": await digestOf(await piece.arrayBuffer()) };
      const began = performance.now();
      const answer = await once("PATCH", { headers, body: piece });
      const took = performance.now() - began;
      if (!answer) {
        pieceBytes = Math.max(pieceBytes / 2, LEAST_PIECE);
        await wait(TRY_AGAIN_MS);
        const known = await ask("GET");
        if (!known.ok) throw new Stop(await told(known));
        there = await known.json();
        continue;
      }
      const said = await answer.json();
      if (answer.ok) {
        pieceBytes = took < SLOW_MS ? Math.min(pieceBytes * 2, Number(form.dataset.piece)) : Math.max(pieceBytes / 2, LEAST_PIECE);
        tries = 0;
        there = said;
        if (piece.size) rate.msPerByte = (rate.msPerByte === null ? took / piece.size : 0.9 * rate.msPerByte + (0.1 * took) / piece.size);
      } else if (said.problem) there = said;
      else if (answer.status === 409 && "offset_bytes" in said) there = { ...there, offset_bytes: said.offset_bytes };
      else if ((tries += 1) > MOST_TRIES_OF_A_PIECE) throw new Stop(said.detail);
      show(there, rate);
    }
    if (there.problem) throw new Stop(`${there.problem}. Nothing of it was kept.`);
  };

  const lasting = (left) => (left < 100 ? `${Math.ceil(left)} s` : `${Math.ceil(left / 60)} min`);

  const show = (there, rate) => {
    const bar = element("upload-bar");
    bar.hidden = false;
    bar.value = there.offset_bytes / there.size_bytes;
    const left = rate.msPerByte === null ? "" : `, about ${lasting(((there.size_bytes - there.offset_bytes) * rate.msPerByte) / 1000)} left`;
    if (performance.now() - saidMs < SAY_EVERY_MS) return;
    saidMs = performance.now();
    say(`${(there.offset_bytes / 1e6).toFixed(1)} of ${(there.size_bytes / 1e6).toFixed(1)} MB sent${left}`);
  };

  // What has arrived is thrown away where the server can be reached; else it is listed until somebody does.
  const throwAway = async () => {
    isCalledOff = false;
    const answer = await once("DELETE");
    if (answer && (answer.ok || answer.status === 404)) say("Called off: nothing of the film was kept.");
    else if (answer) say(await told(answer));
    else say("Called off. What has arrived is kept until it is thrown away on this page.");
  };

  const setBusy = (is) => {
    isBusy = is;
    element("pause").hidden = element("call-off").hidden = !is;
    if (!is) element("upload-bar").hidden = true;
    isPaused = false;
    element("pause").textContent = "Pause";
  };

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (isBusy) return;
    const file = element("film").files[0];
    if (!file) return say("Choose a film first.");
    if (!file.size) return say("The file is empty: choose another.");
    if (!window.isSecureContext) return say("Films are sent over https only, or from this computer itself.");
    isCalledOff = false;
    setBusy(true);
    try {
      address = `/api/films/uploads/${await keyOf(file)}`;
      await sendAll(file);
      say("The film is here.");
      location.reload();
      return;
    } catch (error) {
      if (isCalledOff) await throwAway();
      else say(error instanceof Stop ? error.message : `The film could not be read: ${error.message}`);
    }
    setBusy(false);
  });

  element("call-off").addEventListener("click", () => {
    isCalledOff = true;
    say("Calling off …");
  });

  element("pause").addEventListener("click", () => {
    isPaused = !isPaused;
    element("pause").textContent = isPaused ? "Go on" : "Pause";
    if (isPaused) say("Paused. What was sent is kept.");
  });

  // Moments of the film into the fields beside it
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button[data-fills]");
    if (!button) return;
    const video = button.closest(".film-of-run").querySelector("video");
    const at = button.dataset.firstTap ? Number(button.dataset.firstTap) - video.currentTime : video.currentTime;
    document.getElementById(button.dataset.fills).value = at.toFixed(3);
  });
})();
