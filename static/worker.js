// The service worker keeps the Bench that was seen last for the time without a
// connection. Browsers run one only for pages over HTTPS or from this machine.
"use strict";

faceside.worker = (() => {
  let state = "none";
  if (!window.isSecureContext) state = "plain";
  else if ("serviceWorker" in navigator) start();

  // Where there is a kept live part of the Bench, the page is a kept one, too, and older:
  // with a page that the server gave the worker lets the part go.
  async function newest(bench) {
    const kept = await caches.match("/bench");
    if (kept) await htmx.swap({ sourceElement: bench, target: bench, text: await kept.text(), swap: bench.getAttribute("hx-swap") });
  }

  async function start() {
    state = "starting";
    // A Bench that answers a form passes the worker by: what is kept may be another person's.
    const passedBy = performance.getEntriesByType("navigation")[0]?.workerStart === 0;
    const bench = document.getElementById("bench");
    try {
      if (bench && !passedBy) await newest(bench);
      await navigator.serviceWorker.register("/sw.js", { updateViaCache: "none" });
      const { active } = await navigator.serviceWorker.ready;
      // What this page is made of may have been fetched before the worker was there.
      const files = [...document.querySelectorAll("script[src], link[rel=stylesheet], link[rel=icon]")].map((e) => e.src || e.href);
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
