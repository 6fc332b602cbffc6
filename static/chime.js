// What is in clamps or drying: countdowns that tick, and the end of a rest, announced
// on each tablet until it is seen, with a chime where a person has allowed it there.
"use strict";

(() => {
  const allowedKey = "faceside-chime", saidKey = "faceside-rests-said", seenKey = "faceside-rests-seen";
  // A private window keeps nothing; there this page's own memory has to do.
  const memory = {};
  const remembered = (key) => { try { return localStorage.getItem(key) ?? memory[key]; } catch { return memory[key]; } };
  const remember = (key, value) => {
    memory[key] = value;
    try { localStorage.setItem(key, value); } catch { /* see above */ }
  };

  // The shop's clock decides, not the tablet's: what a page says of both is turned
  // into a moment of the tablet's clock once, when the page comes.
  const due = new WeakMap();
  function dueAt(element) {
    const text = `${element.dataset.ends} ${element.dataset.now}`;
    let known = due.get(element);
    if (known?.text !== text) {
      known = { text, at: Date.now() + Number(element.dataset.ends) - Number(element.dataset.now) };
      due.set(element, known);
    }
    return known.at;
  }

  // Days and hours as the page writes them, to the minute; the last ten minutes to the second.
  function clock(ms) {
    const seconds = Math.ceil(ms / 1000), minutes = Math.ceil(seconds / 60);
    if (seconds < 600) return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
    return faceside.span(minutes);
  }

  const twoDays = 48 * 3600 * 1000;
  let asked = 0; // the latest end for which the screens were fetched anew
  function count() {
    let over = 0;
    for (const element of document.querySelectorAll(".countdown[data-ends]")) {
      const at = dueAt(element), left = at - Date.now();
      if (left > twoDays) continue; // the page says it in days
      const said = left > 0 ? element.dataset.left.replace("#", clock(left)) : element.dataset.over;
      if (element.textContent !== said) element.textContent = said;
      if (left <= 0) over = Math.max(over, at);
    }
    if (over > asked) {
      asked = over;
      document.body.dispatchEvent(new Event("shop-changed"));
    }
  }

  const banner = document.getElementById("rest-said");
  const list = banner.querySelector("ul");
  const soundFor = 10 * 60 * 1000; // what ended longer ago is shown, not sounded

  // What has ended stays announced, from page to page, until a person has seen it or
  // it was taken out; it is sounded once.
  const known = (key) => new Set(JSON.parse(remembered(key) ?? "[]"));
  const keyOf = (rest) => `${rest.dataset.rest} ${rest.dataset.ends}`;
  const ended = () => [...document.querySelectorAll("#resting [data-rest]")].filter((rest) => dueAt(rest) <= Date.now());

  function announce() {
    const said = known(saidKey), seen = known(seenKey), all = ended();
    const shown = all.filter((rest) => !seen.has(keyOf(rest))), fresh = all.filter((rest) => !said.has(keyOf(rest)));
    const lines = shown.map(keyOf).join(), was = list.dataset.lines ?? "";
    if (lines !== was) {
      list.dataset.lines = lines;
      list.replaceChildren(...shown.map((rest) => {
        const line = document.createElement("li");
        line.append(...[...rest.childNodes].map((n) => n.cloneNode(true)));
        return line;
      }));
      banner.hidden = shown.length === 0;
    }
    if (fresh.length === 0) return;
    remember(saidKey, JSON.stringify(all.map(keyOf)));
    if (fresh.some((rest) => dueAt(rest) > Date.now() - soundFor)) chime();
  }

  banner.querySelector("button").addEventListener("click", () => {
    remember(seenKey, JSON.stringify(ended().map(keyOf)));
    announce();
  });
  // Taken off on this tablet or another: nothing is left to be said of it.
  document.addEventListener("htmx:after:swap", () => { count(); announce(); });

  // The chime: two plain tones. A browser makes no sound before the page was touched.
  let audio = null;
  const allowed = () => remembered(allowedKey) === "on";
  const touched = () => navigator.userActivation?.hasBeenActive ?? audio !== null;
  function wake() {
    if (!allowed() || !touched()) return;
    audio ??= new AudioContext();
    if (audio.state === "suspended") audio.resume();
  }

  function chime() {
    if (!allowed() || !touched()) return;
    navigator.vibrate?.([200, 100, 200]);
    wake();
    for (const [pitch, after] of [[880, 0], [659.25, 0.35]]) {
      const tone = audio.createOscillator(), loudness = audio.createGain(), from = audio.currentTime + after;
      tone.frequency.value = pitch;
      loudness.gain.setValueAtTime(0.0001, from);
      loudness.gain.exponentialRampToValueAtTime(0.4, from + 0.02);
      loudness.gain.exponentialRampToValueAtTime(0.0001, from + 0.9);
      tone.connect(loudness).connect(audio.destination);
      tone.start(from);
      tone.stop(from + 1);
    }
  }

  const settings = document.getElementById("chime");
  function showSettings() {
    if (!settings) return;
    settings.hidden = false;
    const on = allowed();
    settings.querySelector('[data-chime="on"]').hidden = !on;
    settings.querySelector('[data-chime="off"]').hidden = on;
    settings.querySelector('[data-chime="asleep"]').hidden = !on || touched();
    settings.querySelector('[data-chime-set="on"]').hidden = on;
    settings.querySelector('[data-chime-set="off"]').hidden = !on;
  }
  settings?.addEventListener("click", (e) => {
    const set = e.target.closest("[data-chime-set]")?.dataset.chimeSet;
    if (!set) return;
    remember(allowedKey, set);
    if (set === "on") chime(); // so that one hears what one has allowed
    showSettings();
  });
  document.addEventListener("pointerup", () => { wake(); showSettings(); });

  showSettings();
  count();
  setInterval(() => { count(); announce(); }, 1000);
})();
