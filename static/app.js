// Faceside on the tablet: what plain HTML cannot do. Every screen works without it.
"use strict";

// newID is a version 4 UUID. crypto.randomUUID is missing where the page comes
// over plain HTTP from another machine, so the bytes are drawn by hand there.
function newID() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const b = crypto.getRandomValues(new Uint8Array(16));
  b[6] = (b[6] & 0x0f) | 0x40;
  b[8] = (b[8] & 0x3f) | 0x80;
  const hex = Array.from(b, (x) => x.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

// stamp gives every form of taps an id of this tablet's own. A form keeps its
// id until the screen is drawn anew, so a double tap is one tap.
function stamp() {
  for (const field of document.querySelectorAll("input[name=tap_id]")) field.value = newID();
}

// A tap says when it was made by the tablet's own clock.
document.addEventListener("submit", (e) => {
  const said = e.target.querySelector("input[name=said_at]");
  if (said) said.value = new Date().toISOString();
}, true);

// What could not be sent is said, and can be sent again under the same id.
const notSent = document.getElementById("not-sent");
document.addEventListener("htmx:error", (e) => {
  if (e.detail.ctx?.request?.method === "POST") notSent.hidden = false;
});

// Where the screen is drawn anew under a finger, the second half of a double
// tap would land on what has just come there (Start becomes Finish). A tap that
// comes sooner after a change of the main action than a person can have read it
// is dropped; <html data-settling> says so meanwhile.
const readMs = 500;
const page = document.documentElement;
let mainWas = mainAction();
let settled = 0;

function mainAction() {
  const form = document.querySelector(".tap-main");
  return form ? `${form.elements.kind.value} ${form.elements.step?.value}` : "";
}

function settle() {
  clearTimeout(settled);
  page.setAttribute("data-settling", "");
  settled = setTimeout(() => page.removeAttribute("data-settling"), readMs);
}

document.addEventListener("htmx:after:swap", (e) => {
  const { target } = e.detail.ctx;
  if (target === "#failed" || target?.id === "failed") return;
  document.getElementById("failed").replaceChildren();
  notSent.hidden = true;
  stamp();
  markWrong();
  const main = mainAction();
  if (main !== mainWas) {
    settle();
    if (e.detail.ctx.request?.method === "POST") showMain(); // not for what another tablet did
  }
  mainWas = main;
});

// The next step begins where its name stands: who finished one at the foot of a
// long card must not look for it.
function showMain() {
  const card = document.querySelector(".step-card");
  if (card && card.getBoundingClientRect().top < 0) window.scrollTo({ top: 0, behavior: "instant" });
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

document.addEventListener("click", (e) => {
  if (page.hasAttribute("data-settling") && e.target.closest(".tap")) {
    e.preventDefault();
    e.stopPropagation();
  }
}, true);

// The stream of changes: the regions marked hx-trigger="shop-changed from:body"
// fetch themselves anew; here only its loss is shown. The tablet counts as away
// once it could not connect for a moment, not while it changes the page.
const away = document.getElementById("away");
let leaving = false;
window.addEventListener("pagehide", () => { leaving = true; });
document.addEventListener("htmx:sse:after:connection", () => { away.hidden = true; });
for (const name of ["htmx:sse:error", "htmx:sse:close"]) {
  document.addEventListener(name, () => { away.hidden = leaving; });
}

stamp();
