// What is typed here is kept on this device until the server has it, and arrives exactly once: the key of each item is
// made here, the server takes a key once. Items are sent in the order in which they were typed, by one page at a time.
// Where the storage of the device is full or missing, the page itself has them until they are sent, and says so.
//
//   put(kind, body, label)  keep an item and send it when that is possible; resolves to its key
//   items()                 everything kept: state is waiting, sent or refused
//   send()                  try now
//   drop(key)               forget an item that was refused
//   take(answers)           keep items of a file again, under the keys they have there
//   onChange(show)          show(status) now and whenever something changes
//
// status: { waiting, unkept, refused, sent, signIn, offline, failed, unread }; unkept: how many of those that wait are in
// this page alone; signIn: sign in to send; offline: nobody answered; unread: why what is kept cannot be read.

const DATABASE = "onthree-outbox", ITEMS = "items", LEASES = "leases";
const EVERY_MS = 15000, LEASE_MS = 30000, LONGEST_ANSWER_MS = 20000, KEPT_SENT_MS = 2 * 24 * 3600 * 1000;
const KEEPS_WAITING = "waiting", SENT = "sent", REFUSED = "refused";
const me = newKey();
const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel(DATABASE) : null;
const watchers = new Set();
const unkept = [];
const status = { waiting: 0, unkept: 0, refused: [], sent: 0, signIn: "", offline: false, failed: "", unread: "" };
let opened = null, sending = null, wantsAgain = false;

export function newKey() {
  // randomUUID is missing where the origin is not secure; getRandomValues is there.
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

export async function put(kind, body, label = "") {
  const key = newKey();
  await keep({ key, kind, body, label, at_client: new Date().toISOString(), state: KEEPS_WAITING });
  send();
  return key;
}

export async function items() {
  return (await all()).map((item) => ({ ...item }));
}

export async function drop(key) {
  const item = (await all()).find((each) => each.key === key && each.state === REFUSED);
  if (item) await forget(item);
  await changed();
}

export async function take(answers) {
  const known = new Set((await all()).map((item) => item.key));
  for (const { key, kind, body, label, at_client } of answers)
    if (!known.has(key)) await keep({ key, kind, body, label, at_client, state: KEEPS_WAITING });
  send();
}

export function onChange(show) {
  watchers.add(show);
  changed();
}

export function send() {
  if (sending) wantsAgain = true;
  else
    sending = sendAll().catch((error) => { status.failed = String(error); }).then(() => {
      sending = null;
      changed();
      if (wantsAgain) { wantsAgain = false; return send(); }
    });
  return sending;
}

async function keep(item) {
  await changing(ITEMS, (store) => store.add({ ...item })).catch(() => unkept.push(item));
  await changed();
}

// Space may have come free.
async function keepUnkept() {
  for (const item of [...unkept]) {
    await changing(ITEMS, (store) => store.add({ ...item }));
    unkept.splice(unkept.indexOf(item), 1);
  }
}

// What was sent is forgotten where there is no space to note it: sent again, it would arrive once all the same.
async function note(item, news) {
  if (unkept.includes(item)) Object.assign(item, news);
  else await changing(ITEMS, (store) => store.put({ ...item, ...news })).catch(() => forget(item));
  await changed();
}

async function forget(item) {
  if (unkept.includes(item)) unkept.splice(unkept.indexOf(item), 1);
  else await changing(ITEMS, (store) => store.delete(item.place));
}

async function sendAll() {
  if (!(await waiting()).length) return;
  await keepUnkept().catch(() => {});
  if (!(await lease())) return;
  try {
    const token = await freshToken();
    for (let item = token && (await waiting())[0]; item; item = (await waiting())[0]) {
      if (!(await lease()) || !(await sendOne(item, token))) break;
    }
  } finally {
    await release().catch(() => {});
  }
}

async function freshToken() {
  const answer = await asked("/api/me", {});
  if (!answer) return "";
  if (answer.ok) { status.signIn = ""; return (await answer.json()).csrf; }
  noteRefusal(answer.status, "Sign in to send.");
  return "";
}

// True where the next one may be sent.
async function sendOne(item, token) {
  const content = { kind: item.kind, body: item.body, at_client: item.at_client, at_sending: new Date().toISOString() };
  const answer = await asked(`/api/outbox/${item.key}`, {
    method: "PUT",
    headers: { "Content-Type": "application/json", "X-CSRFToken": token },
    body: JSON.stringify(content),
  });
  if (!answer) return false;
  const told = await answer.json().catch(() => ({}));
  if (answer.ok) {
    await note(item, { state: SENT, result: told.result, sent_at: Date.now() });
    return true;
  }
  if (answer.status === 401 || answer.status === 403 || answer.status === 429 || answer.status >= 500) {
    noteRefusal(answer.status, told.detail || "");
    return false;
  }
  const why = typeof told.detail === "string" ? told.detail : `status ${answer.status}: ${JSON.stringify(told)}`;
  await note(item, { state: REFUSED, why });
  return true;
}

function noteRefusal(code, detail) {
  if (code === 401) status.signIn = "Sign in to send.";
  else if (code === 403) status.signIn = `Sign in as somebody who may send: ${detail}`;
  else status.failed = detail || `The server answered ${code}.`;
}

async function asked(address, options) {
  const stop = new AbortController(), timer = setTimeout(() => stop.abort(), LONGEST_ANSWER_MS);
  try {
    const answer = await fetch(address, {
      ...options, headers: { Accept: "application/json", ...options.headers }, cache: "no-store",
      credentials: "same-origin", redirect: "error", signal: stop.signal,
    });
    status.offline = false;
    if (answer.status < 500) status.failed = "";
    return answer;
  } catch {
    status.offline = true;
    return null;
  } finally {
    clearTimeout(timer);
  }
}

// One page at a time sends. A lease and not a Web Lock: those are missing where the origin is not secure. Two that send
// at once, after a clock was set or where there is no space for a lease, still arrive once: the key sees to that.
async function lease() {
  let isOurs = true;
  await changing(LEASES, (store) => {
    const asking = store.get("sender");
    asking.onsuccess = () => {
      const there = asking.result, now = Date.now();
      isOurs = !there || there.holder === me || there.until < now || there.until > now + LEASE_MS;
      if (isOurs) store.put({ id: "sender", holder: me, until: now + LEASE_MS });
    };
  }).catch(() => {});
  return isOurs;
}

async function release() {
  await changing(LEASES, (store) => {
    const asking = store.get("sender");
    asking.onsuccess = () => { if (asking.result && asking.result.holder === me) store.delete("sender"); };
  });
}

function database() {
  opened = opened || new Promise((resolve, reject) => {
    const asking = indexedDB.open(DATABASE, 1);
    asking.onupgradeneeded = () => {
      asking.result.createObjectStore(ITEMS, { keyPath: "place", autoIncrement: true });
      asking.result.createObjectStore(LEASES, { keyPath: "id" });
    };
    asking.onsuccess = () => {
      asking.result.onclose = () => { opened = null; };
      resolve(asking.result);
    };
    asking.onerror = () => { opened = null; reject(asking.error); };
  });
  return opened;
}

// A database that the browser closed while the device slept is opened again.
async function begun(name, mode) {
  try {
    return (await database()).transaction(name, mode, { durability: "strict" });
  } catch (error) {
    if (error.name !== "InvalidStateError") throw error;
    opened = null;
    return (await database()).transaction(name, mode, { durability: "strict" });
  }
}

async function changing(name, change) {
  const transaction = await begun(name, "readwrite");
  change(transaction.objectStore(name));
  return new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = transaction.onerror = () => reject(transaction.error);
  });
}

async function all() {
  let kept = [];
  status.unread = "";
  try {
    kept = await stored();
  } catch (error) {
    status.unread = String(error);
  }
  return [...kept, ...unkept];
}

async function stored() {
  const asking = (await begun(ITEMS, "readonly")).objectStore(ITEMS).getAll();
  return new Promise((resolve, reject) => {
    asking.onsuccess = () => resolve(asking.result);
    asking.onerror = () => reject(asking.error);
  });
}

async function waiting() {
  return (await all()).filter((item) => item.state === KEEPS_WAITING);
}

async function changed(isOwn = true) {
  const kept = await all();
  status.unkept = unkept.filter((item) => item.state === KEEPS_WAITING).length;
  status.waiting = kept.filter((item) => item.state === KEEPS_WAITING).length;
  status.sent = kept.filter((item) => item.state === SENT).length;
  status.refused = kept.filter((item) => item.state === REFUSED);
  for (const show of watchers) show({ ...status }, kept);
  if (isOwn && channel) channel.postMessage("changed");
}

async function forgetOld() {
  const old = (await all()).filter((item) => item.state === SENT && Math.abs(Date.now() - item.sent_at) > KEPT_SENT_MS);
  for (const item of old) await changing(ITEMS, (store) => store.delete(item.place));
}

if (channel) channel.onmessage = () => changed(false);
addEventListener("beforeunload", (event) => { if (status.unkept) event.preventDefault(); });
addEventListener("online", send);
addEventListener("pageshow", send);
document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") send(); });
setInterval(send, EVERY_MS);
forgetOld().catch(() => {}).then(send);
