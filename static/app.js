// Faceside on the tablet: what plain HTML cannot do. Every screen works without it.
"use strict";

// faceside is what the scripts share; each file adds its part.
const faceside = {
  // newID is a version 4 UUID. crypto.randomUUID is missing where the page comes
  // over plain HTTP from another machine, so the bytes are drawn by hand there.
  newID() {
    if (crypto.randomUUID) return crypto.randomUUID();
    const b = crypto.getRandomValues(new Uint8Array(16));
    b[6] = (b[6] & 0x0f) | 0x40;
    b[8] = (b[8] & 0x3f) | 0x80;
    const hex = Array.from(b, (x) => x.toString(16).padStart(2, "0")).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
  },

  // signIn leads to where people say who they are, once what waits on this tablet was
  // sent as far as it can be: it is of who was signed in. The rest stays on the tablet.
  signIn: (() => {
    let leaving = false;
    return async () => {
      if (leaving) return;
      leaving = true;
      await faceside.queue.drain();
      const back = location.pathname + location.search;
      location.assign(back === "/" ? "/sign-in" : `/sign-in?back=${encodeURIComponent(back)}`);
    };
  })(),

  // refresh has the regions marked hx-trigger="shop-changed from:body" fetch
  // themselves anew: soon after a tap of this tablet and what it shows, else within
  // a second. A shop where much is tapped is not asked for every tap, and a server
  // that answers slowly is asked less.
  refresh: (() => {
    const soonMs = 500;
    const laterMs = 1000;
    let fetched = -laterMs;
    let took = 0;
    let timer = 0;
    let due = Infinity;

    function fetchNow() {
      clearTimeout(timer);
      due = Infinity;
      fetched = performance.now();
      document.body.dispatchEvent(new CustomEvent("shop-changed", { bubbles: true }));
      const began = fetched;
      document.addEventListener("htmx:after:swap", () => { took = performance.now() - began; }, { once: true });
    }

    return (soon = true) => {
      const now = performance.now();
      const at = fetched + Math.max(soon ? soonMs : laterMs, 4 * Math.min(took, laterMs));
      if (at <= now) {
        fetchNow();
      } else if (at < due) {
        clearTimeout(timer);
        due = at;
        timer = setTimeout(fetchNow, at - now);
      }
    };
  })(),

  // copy is what stands in a <template> of the page.
  copy(template) {
    return template.content.cloneNode(true);
  },

  // clock says a time of this tablet by the shop's clock, as the pages do: 8:05.
  clock(at, ahead = faceside.live.ahead()) {
    const there = faceside.atShop(at, ahead);
    return `${there.getHours()}:${String(there.getMinutes()).padStart(2, "0")}`;
  },

  // atShop is what the shop's clock shows at a time of this tablet, whose own clock
  // is so many ms ahead of the server's and may be in another time zone.
  atShop(at, ahead) {
    const there = new Date(at.getTime() - ahead);
    try {
      return new Date(there.toLocaleString("en-US", { timeZone: document.getElementById("live").dataset.zone }));
    } catch {
      return there; // a time zone that this browser does not know
    }
  },

  // about says a number of seconds in the largest unit that there is one of.
  about(seconds) {
    const [unit, size] = [["day", 86400], ["hour", 3600], ["minute", 60]].find(([, s]) => seconds >= s) ?? ["minute", 60];
    return new Intl.NumberFormat(document.documentElement.lang, { style: "unit", unit, unitDisplay: "long", maximumFractionDigits: 1 }).format(seconds / size);
  },

  // span says minutes as the pages do, "25 min", "4 h 10", so that no line breaks in it.
  span(minutes) {
    const hours = Math.floor(minutes / 60), rest = minutes % 60;
    if (!hours) return `${rest}\u00a0min`;
    return rest ? `${hours}\u00a0h\u00a0${String(rest).padStart(2, "0")}` : `${hours}\u00a0h`;
  },

  // say puts values into a text of the page that has places like {n} for them.
  say(text, values) {
    return text.replace(/\{(\w+)\}/g, (all, name) => values[name] ?? all);
  },
};

// Where the screen is drawn anew under a finger, the second half of a double
// tap would land on what has just come there (Start becomes Finish). A tap that
// comes sooner after a change of the main action than a person can have read it
// is dropped; <html data-settling> says so meanwhile.
const readMs = 500;
const page = document.documentElement;
let mainWas = mainAction();
let settled = 0;

function mainAction() {
  const form = document.querySelector(".tap-main, .run-step .tap");
  return form ? `${form.elements.kind.value} ${form.elements.step?.value}` : "";
}

function settle() {
  clearTimeout(settled);
  page.setAttribute("data-settling", "");
  settled = setTimeout(() => page.removeAttribute("data-settling"), readMs);
}

document.addEventListener("click", (e) => {
  if (page.hasAttribute("data-settling") && e.target.closest(".tap")) {
    e.preventDefault();
    e.stopPropagation();
  }
}, true);

// drawn is called whenever part of the screen was drawn anew; own says that it
// follows from a tap of this tablet, not from what another one did.
faceside.drawn = (own) => {
  const main = mainAction();
  if (main !== mainWas) {
    settle();
    if (own) showMain();
  }
  mainWas = main;
};

// The next step begins where its name stands: who finished one at the foot of a
// long card must not look for it.
function showMain() {
  const next = document.querySelector(".run-step:has(.tap)"), card = document.querySelector(".step-card");
  if (next && next.getBoundingClientRect().top < 0) next.scrollIntoView({ block: "start", behavior: "instant" });
  else if (!next && card && card.getBoundingClientRect().top < 0) window.scrollTo({ top: 0, behavior: "instant" });
}

// The screens behind "More" fold up when something else is tapped, and by Escape. Who
// works at the bench has none there.
const more = document.querySelector(".nav-more");

if (more) {
  document.addEventListener("click", (e) => { if (!more.contains(e.target)) more.open = false; });
  document.addEventListener("keydown", (e) => { if (e.key === "Escape") more.open = false; });
}

// Where part of the screen is drawn anew under a keyboard, the focus stays on what
// does the same: the main action, the same tap, or the link to the same. Where there is
// none for a while, as when nothing is ready before the next plan, it waits for one.
let focusWas = "";
let focusWaits = false;

faceside.holdFocus = () => {
  const e = document.activeElement;
  if (focusWaits && e === document.body) return;
  const form = e.closest(".tap");
  const has = (name) => `:has([name=${name}][value=${JSON.stringify(form.elements[name]?.value ?? "")}])`;
  focusWas = "";
  if (e.closest(".tap-main")) focusWas = ".tap-main button";
  else if (form) focusWas = `.tap${has("kind")}${form.elements.step ? has("step") : ""} button`;
  else if (e.matches("main a[href]")) focusWas = `main a[href=${JSON.stringify(e.getAttribute("href"))}]`;
};

faceside.findFocus = () => {
  focusWaits = false;
  if (focusWas === "" || document.activeElement !== document.body) return;
  const found = document.querySelector(focusWas) ?? document.querySelector(".tap-main button");
  focusWaits = !found;
  found?.focus({ preventScroll: true });
};

document.addEventListener("htmx:before:swap", faceside.holdFocus);

document.addEventListener("htmx:after:swap", (e) => {
  const { target } = e.detail.ctx;
  if (target === "#failed" || target?.id === "failed") return;
  document.getElementById("failed").replaceChildren();
  markWrong();
  faceside.ahead.taken(target);
  faceside.drawn(faceside.queue.tapped());
  faceside.findFocus();
});

// What was to be bettered, and was not, stays as it is; what stands hidden beside it says so.
for (const failure of ["htmx:response:error", "htmx:error"]) {
  document.addEventListener(failure, (e) => {
    const asked = e.detail.ctx?.sourceElement; // away where something else is tried by now
    if (asked?.isConnected && asked.dataset.failed) document.querySelector(asked.dataset.failed).hidden = false;
  });
}

// What is said beside a field is drawn anew while the field stays; the field is
// marked wrong as long as something is said against it.
function markWrong() {
  for (const said of document.querySelectorAll("[data-said]")) {
    const field = said.closest(".field");
    const wrong = said.querySelector(".wrong-why") !== null;
    field.classList.toggle("wrong", wrong);
    const asked = field.querySelector("input, select, textarea");
    if (wrong) asked.setAttribute("aria-invalid", "true");
    else asked.removeAttribute("aria-invalid");
  }
}
