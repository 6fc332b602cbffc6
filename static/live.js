// The stream of changes, and whether this tablet is connected.
//
// A tablet has one stream, at the page somebody came to last: the server closes
// the older one and says "elsewhere". The other pages of the tablet follow by
// what that page passes on, and take over when it leaves or falls silent.
"use strict";

faceside.live = (() => {
  const live = document.getElementById("live");
  const away = document.getElementById("away");
  const wasAway = document.getElementById("was-away");
  const others = new BroadcastChannel("faceside-live");
  const silence = 2.5 * Number(live.dataset.beat); // ms without a beat: the network died without a word
  const graceMs = 1500; // a stream that comes back this soon was not away

  let version = live.dataset.version;
  let heard = live.dataset.now; // the server's clock as last heard
  let heardAt = performance.now();
  let ahead = remembered(); // ms by which this tablet's clock is ahead of the server's
  let source = null;
  let leaving = false;
  let awaySince = null;
  let losing = 0;

  function lead() {
    stop();
    if (leaving || document.hidden) return;
    source = new EventSource(`/live?since=${encodeURIComponent(version)}`);
    source.addEventListener("beat", (e) => {
      beat(e.data);
      others.postMessage({ beat: e.data });
    });
    source.addEventListener("shop-changed", (e) => {
      version = e.lastEventId;
      beat();
      const what = JSON.parse(e.data);
      others.postMessage({ version, what });
      follow(what);
    });
    source.addEventListener("elsewhere", stop);
    source.addEventListener("signed-out", faceside.signIn);
    source.addEventListener("error", () => {
      if (source.readyState === EventSource.CLOSED) { // it does not try again by itself
        stop();
        setTimeout(() => { if (!source) lead(); }, 2000);
        signedOut();
      }
      losing ||= setTimeout(lost, graceMs);
    });
  }

  function stop() {
    source?.close();
    source = null;
  }

  // The last answer of the server says how the clocks differ, also to a page that is
  // opened while it cannot be reached.
  function remembered() {
    try { return Number(localStorage.getItem("faceside-ahead")); } catch { return 0; }
  }

  function compare(now) {
    heard = now;
    ahead = Date.now() - Date.parse(now);
    try { localStorage.setItem("faceside-ahead", ahead); } catch { /* then the next answer says it */ }
  }

  // beat notes that the server was heard.
  function beat(now) {
    if (now) compare(now);
    heardAt = performance.now();
    clearTimeout(losing);
    losing = 0;
    if (!awaySince) return;
    const since = awaySince;
    awaySince = null;
    away.hidden = true;
    document.getElementById("stay").hidden = true;
    wasAway.querySelector("p").textContent = faceside.say(wasAway.dataset.text, { from: faceside.clock(since), to: faceside.clock(new Date()) });
    wasAway.hidden = false;
    faceside.queue.drain();
    faceside.changedState();
  }

  function lost() {
    losing = 0;
    if (leaving || document.hidden || awaySince) return;
    awaySince = new Date();
    away.querySelector("span").textContent = faceside.say(away.dataset.since, { when: faceside.clock(awaySince) });
    away.hidden = false;
    faceside.changedState();
  }

  // signedOut asks whether the stream was refused because nobody is signed in any more:
  // a browser does not tell.
  async function signedOut() {
    try {
      const answer = await fetch("/bench/ahead", { headers: { "HX-Request": "true" }, cache: "no-store", signal: AbortSignal.timeout(3000) });
      if (answer.status === 401) faceside.signIn();
    } catch {
      // not reached: that is another matter
    }
  }

  // follow fetches what is shown anew. Other dates concern only pages that tell some.
  function follow(what) {
    if (what.kinds.some((kind) => kind !== "promises") || document.querySelector("[data-promises]")) faceside.refresh(concerns(what));
  }

  // concerns says whether a change is of who is at this tablet, or of a step that
  // stands on the screen as a card.
  function concerns(what) {
    if (what.kinds.includes("missed") || (what.people ?? []).includes(Number(live.dataset.person))) return true;
    return [...document.querySelectorAll(".step-card[data-step]")].some((card) => (what.steps ?? []).includes(Number(card.dataset.step)));
  }

  others.addEventListener("message", ({ data }) => {
    if (source) return;
    if (data.leaving) {
      lead();
    } else if (data.beat) {
      beat(data.beat);
    } else if (data.version && data.version !== version) {
      version = data.version;
      beat();
      follow(data.what);
    }
  });

  function leave() {
    if (source) others.postMessage({ leaving: true });
    stop();
  }

  window.addEventListener("pagehide", () => {
    leaving = true;
    leave();
  });
  window.addEventListener("pageshow", (e) => {
    if (!e.persisted) return;
    leaving = false;
    lead();
  });
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) {
      leave();
    } else {
      heardAt = performance.now();
      lead();
    }
  });
  window.addEventListener("offline", lost);
  window.addEventListener("online", lead);
  setInterval(() => {
    if (document.hidden || performance.now() - heardAt < silence) return;
    heardAt = performance.now();
    losing ||= setTimeout(lost, graceMs);
    lead();
  }, 1000);
  wasAway.querySelector("button").addEventListener("click", () => { wasAway.hidden = true; });

  // What leads to another page would end in the browser's own error page, with
  // what was typed lost: while away, or where that is not sure, the server is asked
  // first whether it is there.
  async function reached() {
    try {
      const answer = await fetch("/healthz", { cache: "no-store", signal: AbortSignal.timeout(3000) });
      return answer.ok;
    } catch {
      return false;
    }
  }

  function doubtful() {
    return awaySince !== null || losing !== 0;
  }

  // withButton gives a form what its button says, as its own submitting would.
  function withButton(form, button) {
    if (button?.name) {
      const said = document.createElement("input");
      said.type = "hidden";
      said.name = button.name;
      said.value = button.value;
      form.append(said);
    }
    if (button?.hasAttribute("formaction")) form.action = button.formAction;
    return form;
  }

  function stay() {
    const said = document.getElementById("stay");
    said.hidden = false;
    said.scrollIntoView({ block: "nearest" });
  }

  document.addEventListener("click", async (e) => {
    const link = e.target.closest?.("a[href]");
    if (!doubtful() || !link || link.origin !== location.origin || link.getAttribute("href").startsWith("#")) return;
    if (navigator.serviceWorker?.controller && link.pathname === "/") return; // the last seen Bench is at hand
    e.preventDefault();
    if (await reached()) location.assign(link.href);
    else stay();
  });
  document.addEventListener("submit", async (e) => {
    if (!doubtful() || e.defaultPrevented || e.target.method !== "post") return;
    e.preventDefault();
    if (!await reached()) {
      stay();
      return;
    }
    HTMLFormElement.prototype.submit.call(withButton(e.target, e.submitter));
  });

  document.addEventListener("DOMContentLoaded", lead); // the other scripts are there then
  return {
    away: () => awaySince !== null,
    heard: () => heard,
    ahead: () => ahead,
    hear: beat,
    goOn: () => { wasAway.hidden = true; }, // who taps on has seen it
    lost: () => {
      clearTimeout(losing);
      lost();
    },
  };
})();

// changedState tells the scripts that show whether the tablet is connected and
// what waits on it.
faceside.changedState = () => document.dispatchEvent(new CustomEvent("faceside:state"));
