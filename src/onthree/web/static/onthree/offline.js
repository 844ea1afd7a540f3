// Keeps the pages named in [data-keep] on this device, where the origin is secure, and says so; where it is not, says that
// the page must stay open. Signing out forgets all pages that were kept.
const SECURE = window.isSecureContext && "serviceWorker" in navigator;
const line = document.querySelector("[data-outbox-kept]");
const keeping = document.querySelector("[data-keep]");

function say(text) {
  if (line) line.textContent = text;
}

async function keepPages() {
  if (!keeping) return;
  if (!SECURE) {
    say("Keep this page open: without https it cannot be opened again while there is no connection. What you answer is kept on this device.");
    return;
  }
  try {
    await navigator.serviceWorker.register("/service-worker.js");
    const { active } = await navigator.serviceWorker.ready;
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = ({ data }) => {
      document.documentElement.dataset.kept = data.missing.length ? "part" : "all";
      say(data.missing.length
        ? `Kept on this device: ${data.kept} of ${data.kept + data.missing.length} pages. Load this page again while there is a connection.`
        : `Kept on this device: this event's time-out, cards, gear check and the life-first pages can be opened without a connection.`);
    };
    active.postMessage({ keep: [...new Set([location.pathname + location.search, ...keeping.dataset.keep.split(" ")])] }, [port2]);
    if (navigator.storage?.persist) navigator.storage.persist().catch(() => {});
  } catch (error) {
    say(`This device does not keep pages (${error.message}): keep this page open. What you answer is kept.`);
  }
}

document.addEventListener("submit", (event) => {
  if (SECURE && event.target.matches("form[action$='/sign-out/']"))
    navigator.serviceWorker.controller?.postMessage({ forget: true });
});

keepPages();
