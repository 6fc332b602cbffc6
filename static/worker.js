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
      // What this page is made of was fetched before the worker was there.
      const files = [...document.querySelectorAll("script[src], link[rel=stylesheet], link[rel=icon]")].map((e) => e.src || e.href);
      active.postMessage({ keep: files });
      state = "on";
    } catch {
      state = "failed";
    }
    faceside.changedState();
  }

  return { state: () => state };
})();
