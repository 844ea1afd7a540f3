// Sends a film in pieces. The key of a film follows from the run and the file, so the same file goes on where it stopped.
"use strict";

(() => {
  const form = document.getElementById("upload");
  const element = (id) => document.getElementById(id);
  const TRY_AGAIN_MS = 3000;
  const MOST_TRIES_OF_A_PIECE = 5;
  let isPaused = false;

  const say = (text) => (element("upload-told").textContent = text);

  const hexOf = async (text) => [...new Uint8Array(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text)))].map((each) => each.toString(16).padStart(2, "0")).join("");

  const keyOf = async (file) => {
    const hex = await hexOf([form.dataset.run, file.name, file.size, file.lastModified].join("\n"));
    return [hex.slice(0, 8), hex.slice(8, 12), `4${hex.slice(13, 16)}`, `8${hex.slice(17, 20)}`, hex.slice(20, 32)].join("-");
  };

  const wait = (ms) => new Promise((done) => setTimeout(done, ms));

  class Stop extends Error {}

  // Asks until an answer comes; only what a person must mend ends it.
  const ask = async (method, address, more = {}) => {
    for (;;) {
      while (isPaused) await wait(200);
      let answer = null;
      try {
        const me = method === "GET" ? null : await fetch("/api/me", { headers: { Accept: "application/json" } });
        if (me && me.ok) more.headers = { ...more.headers, "X-CSRFToken": (await me.json()).csrf };
        answer = me && !me.ok ? me : await fetch(address, { method, ...more });
      } catch {
        say("No connection: the film waits, and goes on by itself.");
      }
      if (answer && (answer.status === 401 || answer.status === 403)) say("Sign in again in another tab: the film waits, and goes on by itself.");
      else if (answer && answer.status === 507) say(`${(await answer.json()).detail}. The film waits.`);
      else if (answer && answer.status < 500) return answer;
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

  const declared = async (address, file) => {
    const offset = seconds(element("offset").value);
    if (Number.isNaN(offset)) throw new Stop("Begins at: a number is expected.");
    const body = JSON.stringify({ run: form.dataset.run, name: file.name, size_bytes: file.size, kind: element("kind").value, taken_by: element("taken-by").value, offset_s: offset });
    const answer = await ask("PUT", address, { headers: { "Content-Type": "application/json" }, body });
    if (!answer.ok) throw new Stop(await told(answer));
    return answer.json();
  };

  const sendAll = async (file) => {
    const address = `/api/films/uploads/${await keyOf(file)}`;
    let there = await declared(address, file);
    let tries = 0;
    const began = { ms: performance.now(), bytes: there.offset_bytes };
    while (!there.recording && !there.problem) {
      const at = there.offset_bytes;
      const piece = await file.slice(at, at + Number(form.dataset.piece)).arrayBuffer();
      const headers = { "Content-Type": "application/partial-upload", "Upload-Offset": String(at), "Content-Digest": await digestOf(piece) };
      const answer = await ask("PATCH", address, { headers, body: piece });
      const said = await answer.json();
      if (answer.ok || said.problem) there = said;
      else if (answer.status === 409 && "offset_bytes" in said) there = { ...there, offset_bytes: said.offset_bytes };
      else if ((tries += 1) > MOST_TRIES_OF_A_PIECE) throw new Stop(said.detail);
      show(there, began);
    }
    if (there.problem) throw new Stop(there.problem);
  };

  const show = (there, began) => {
    const bar = element("upload-bar");
    bar.hidden = false;
    bar.value = there.offset_bytes / there.size_bytes;
    const rate = (there.offset_bytes - began.bytes) / (performance.now() - began.ms);
    const left = rate > 0 ? `, about ${Math.ceil((there.size_bytes - there.offset_bytes) / rate / 1000)} s left` : "";
    say(`${(there.offset_bytes / 1e6).toFixed(1)} of ${(there.size_bytes / 1e6).toFixed(1)} MB sent${left}`);
  };

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const file = element("film").files[0];
    if (!file) return say("Choose a film first.");
    if (!file.size) return say("The file is empty: choose another.");
    element("pause").hidden = false;
    try {
      await sendAll(file);
      say("The film is here.");
      location.reload();
    } catch (error) {
      say(error instanceof Stop ? error.message : `The film could not be read: ${error.message}`);
    }
    element("pause").hidden = true;
  });

  element("pause").addEventListener("click", () => {
    isPaused = !isPaused;
    element("pause").textContent = isPaused ? "Go on" : "Pause";
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
