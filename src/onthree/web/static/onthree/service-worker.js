// Shows pages that this device keeps when the server does not answer. Nothing is sent from here: the outbox of the pages
// does that. The server is asked first, always: a page that was kept may be old, and says from when it is.
"use strict";

const PAGES = "onthree-pages-1", LONGEST_WAIT_MS = 6000;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("message", (event) => {
  if (event.data.forget) event.waitUntil(caches.delete(PAGES));
  if (event.data.keep) event.waitUntil(keep(event.data.keep).then((told) => event.ports[0]?.postMessage(told)));
});

self.addEventListener("fetch", (event) => {
  const { request } = event, url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin || url.pathname.startsWith("/api/")) return;
  if (request.mode === "navigate") event.respondWith(page(request));
  else if (url.pathname.startsWith("/static/onthree/")) event.respondWith(file(request));
});

async function keep(addresses) {
  const cache = await caches.open(PAGES), missing = [];
  let kept = 0;
  for (const address of addresses) {
    try {
      const answer = await fetch(address, { credentials: "same-origin", cache: "no-store" });
      if (!answer.ok || answer.redirected) throw new Error(String(answer.status));
      await cache.put(address, answer);
      kept += 1;
    } catch {
      if (await cache.match(address)) kept += 1;
      else missing.push(address);
    }
  }
  return { kept, missing };
}

async function page(request) {
  const cache = await caches.open(PAGES);
  const there = (await cache.match(request)) || (await cache.match(request, { ignoreSearch: true }));
  try {
    const answer = await fromServer(request, Boolean(there));
    if (answer.ok && !answer.redirected && (await cache.match(request))) await cache.put(request, answer.clone());
    if (answer.status < 500 || !there) return answer;
  } catch {
    // nobody answers
  }
  return there || notKept(cache);
}

async function file(request) {
  const cache = await caches.open(PAGES);
  try {
    const answer = await fromServer(request, true);
    if (answer.ok && (await cache.match(request))) await cache.put(request, answer.clone());
    return answer;
  } catch (error) {
    const there = await cache.match(request);
    if (there) return there;
    throw error;
  }
}

// Where a copy is kept, nobody waits long for a line that is there and carries nothing.
function fromServer(request, mayGiveUp) {
  if (!mayGiveUp) return fetch(request);
  const stop = new AbortController(), timer = setTimeout(() => stop.abort(), LONGEST_WAIT_MS);
  return fetch(request, { signal: stop.signal }).finally(() => clearTimeout(timer));
}

async function notKept(cache) {
  const kept = (await cache.keys()).map((each) => new URL(each.url).pathname).filter((path) => !path.startsWith("/static/"));
  const text = (path) => path.replace(/[&<>"]/g, (sign) => `&#${sign.charCodeAt(0)};`);
  const links = kept.map((path) => `<li><a href="${text(path)}">${text(decodeURIComponent(path))}</a></li>`).join("");
  const body = `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>No connection – onthree</title><link rel="stylesheet" href="/static/onthree/onthree.css"></head>
<body><main id="content"><h1>No connection</h1><p class="told">This page is not kept on this device. These are:</p><ul class="leg-pages">${links}</ul></main></body></html>`;
  return new Response(body, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
}
