// What is tapped during a run waits on this device until the server has it, in the order in which it was tapped.
"use strict";

const runSending = (() => {
  const PREFIX = "onthree-run-";
  const TRY_AGAIN_MS = 4000;
  let isSending = false;
  let tell = () => {};

  const newKey = () => {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((each) => each.toString(16).padStart(2, "0")).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
  };

  const codeOf = (prefix, key) => `${prefix}-${key.replaceAll("-", "").slice(0, 12).toUpperCase()}`;

  const read = (code) => JSON.parse(localStorage.getItem(PREFIX + code) || "null");

  const keep = (log) => localStorage.setItem(PREFIX + log.code, JSON.stringify(log));

  const drop = (code) => localStorage.removeItem(PREFIX + code);

  const all = () => Object.keys(localStorage).filter((name) => name.startsWith(PREFIX)).map((name) => JSON.parse(localStorage.getItem(name)));

  const mark = (code, key, state, why) => {
    const log = read(code);
    const item = log && log.items.find((each) => each.key === key);
    if (!item) return;
    item.state = state;
    item.why = why || "";
    keep(log);
  };

  const waiting = () => all().flatMap((log) => log.items.filter((item) => item.state === "waiting").map((item) => ({ ...item, code: log.code })));

  const token = async () => {
    const answer = await fetch("/api/me", { headers: { Accept: "application/json" } });
    if (answer.status === 401 || answer.status === 403) throw new Error("sign in");
    if (!answer.ok) throw new Error("later");
    return (await answer.json()).csrf;
  };

  const sendOne = async (item, csrf) => {
    const answer = await fetch(`/api/outbox/${item.key}`, {
      method: "PUT",
      headers: { "Content-Type": "application/json", "X-CSRFToken": csrf },
      body: JSON.stringify({ kind: item.kind, body: item.body, at_client: item.at }),
    });
    if (answer.ok) return mark(item.code, item.key, "taken");
    if (answer.status === 401 || answer.status === 403) throw new Error("sign in");
    if (![400, 404, 409, 422].includes(answer.status)) throw new Error("later");
    const told = await answer.json().catch(() => ({}));
    return mark(item.code, item.key, "refused", typeof told.detail === "string" ? told.detail : `not taken (${answer.status})`);
  };

  const send = async () => {
    if (isSending) return;
    isSending = true;
    let why = "";
    try {
      let csrf = "";
      for (let item = waiting()[0]; item; item = waiting()[0]) {
        csrf = csrf || (await token());
        await sendOne(item, csrf);
        tell("");
      }
    } catch (error) {
      why = error.message === "sign in" ? "sign in" : "later";
    } finally {
      isSending = false;
    }
    tell(why);
    if (why) setTimeout(send, TRY_AGAIN_MS);
  };

  addEventListener("online", send);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && send());
  addEventListener("storage", () => tell(""));

  return { newKey, codeOf, read, keep, drop, all, send, waiting, whenTold: (listener) => (tell = listener) };
})();
