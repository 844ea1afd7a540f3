// What is tapped during a run is kept on this device twice: here as the log from which the page shows the run, and in the
// outbox of all pages, which sends it in the order in which it was tapped.
import { items, newKey, onChange, take } from "./outbox.js";

const PREFIX = "onthree-run-";
const unkept = new Map(); // logs that the storage of this device did not take: this page alone has them
let handing = Promise.resolve();

export { newKey };

export const codeOf = (prefix, key) => `${prefix}-${key.replaceAll("-", "").slice(0, 12).toUpperCase()}`;

export const read = (code) => unkept.get(code) || JSON.parse(localStorage.getItem(PREFIX + code) || "null");

export const keep = (log) => {
  try {
    localStorage.setItem(PREFIX + log.code, JSON.stringify(log));
    unkept.delete(log.code);
  } catch {
    unkept.set(log.code, log);
  }
};

export const drop = (code) => {
  localStorage.removeItem(PREFIX + code);
  unkept.delete(code);
};

export const all = () => [...new Set([...Object.keys(localStorage).filter((name) => name.startsWith(PREFIX)).map((name) => name.slice(PREFIX.length)), ...unkept.keys()])].map(read);

export const isOnlyHere = (code) => unkept.has(code);

// Hands every waiting item over, in order; one that the outbox knows already it does not take again.
export const send = (log) => {
  const waiting = log.items.filter((item) => item.state === "waiting");
  handing = handing.then(() => take(waiting.map((item) => ({ key: item.key, kind: item.kind, body: item.body, label: `${log.code} ${item.body.what || "start"}`, at_client: item.at }))));
  return handing;
};

// Tells the state of the outbox now and whenever it changes; what it says of the items of a run is noted in its log.
export const whenChanged = (show) => onChange(async (status) => {
  const known = new Map((await items()).map((item) => [item.key, item]));
  for (const log of all()) {
    let isOther = false;
    for (const item of log.items) {
      const there = known.get(item.key);
      const state = there ? { sent: "taken" }[there.state] || there.state : item.state;
      if (state === item.state) continue;
      Object.assign(item, { state, why: there.why || "" });
      isOther = true;
    }
    if (!isOther) continue;
    const now = read(log.code); // a tap may have come meanwhile
    for (const item of now.items) Object.assign(item, log.items.find((each) => each.key === item.key) || {});
    keep(now);
  }
  show(status);
});
