// The service worker keeps the Bench that was seen last for the time without a
// connection. Browsers run one only for pages over HTTPS or from this machine.
"use strict";

faceside.worker = (() => {
  let state = "none";
  if (!window.isSecureContext) state = "plain";
  else if ("serviceWorker" in navigator) start();

  async function start() {
    state = "starting";
    try {
      await navigator.serviceWorker.register("/sw.js", { updateViaCache: "none" });
      const { active } = await navigator.serviceWorker.ready;
      // What this page is made of may have been fetched before the worker was there.
      // A Bench that answers a form passes it by, too: it may be another person's.
      const files = [...document.querySelectorAll("script[src], link[rel=stylesheet], link[rel=icon]")].map((e) => e.src || e.href);
      const passedBy = performance.getEntriesByType("navigation")[0]?.workerStart === 0;
      active.postMessage({ keep: files, anew: passedBy && document.body.dataset.screen === "bench" });
      state = "on";
      await navigator.storage?.persist?.(); // so that the browser does not let the queue go when space is short
    } catch {
      state = "failed";
    }
    faceside.changedState();
  }

  return { state: () => state };
})();
