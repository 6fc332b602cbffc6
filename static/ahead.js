// What the screen shows of taps that were not sent yet: the step in hand moves on
// with the cards that were fetched ahead. What the server drew last is kept and
// drawn first, then each such tap on top of it.
"use strict";

faceside.ahead = (() => {
  const regions = [...document.querySelectorAll("#bench, #step")];
  const drawn = new Map(); // what the server drew, by region
  let shown = ""; // the taps that the screen shows beyond what the server drew

  // taken notes what the server drew; target is what was swapped, if not all is new.
  function taken(target) {
    if (target?.id === "ahead") shown = ""; // the cards that were lacking may be there now
    for (const region of regions) {
      if (target && target !== region) continue;
      const copy = document.createDocumentFragment();
      copy.append(...[...region.childNodes].map((n) => n.cloneNode(true)));
      drawn.set(region, copy);
      shown = "";
    }
    draw();
  }

  function draw() {
    const taps = counting(faceside.queue?.late() ?? []);
    const ids = taps.map((t) => t.id).join(" ");
    if (ids === shown) return;
    faceside.holdFocus();
    for (const region of regions) region.replaceChildren(drawn.get(region).cloneNode(true));
    shown = ids;
    const done = new Set();
    for (const tap of taps) move(tap, done);
    offerUndo(taps.at(-1));
    faceside.drawn(true);
    faceside.findFocus();
  }

  // counting leaves out what was taken back before it was sent.
  function counting(taps) {
    const undone = new Set(taps.map((t) => field(t, "undoes_id")).filter(Boolean));
    return taps.filter((t) => !undone.has(t.id) && !field(t, "undoes_id"));
  }

  function field(tap, name) {
    return tap.fields.find(([key]) => key === name)?.[1];
  }

  function move(tap, done) {
    for (const form of document.querySelectorAll(`form[action="/tap"]`)) { // what was tapped is not offered again
      if (form.elements.kind?.value === tap.kind && (form.elements.step?.value ?? "") === tap.step && !form.closest(".trouble-form")) form.remove();
    }
    if (tap.kind === "undo") return;
    const card = document.querySelector(`.step-card[data-step="${CSS.escape(tap.step)}"]`);
    switch (tap.kind) {
      case "start":
        done.delete(tap.step);
        become(card ?? bring(tap.step), "in-hand");
        break;
      case "put-down":
        become(card, "put-down");
        break;
      case "finish":
      case "trouble":
        if ((field(tap, "trouble") ?? "").startsWith("estimate")) break; // the work goes on
        done.add(tap.step);
        if (!card) break;
        if (card.closest(".bench-main")) next(card, done);
        else become(card, tap.kind === "finish" ? "done" : "in-trouble");
    }
  }

  // become has a card look as after a tap.
  function become(card, mark) {
    const as = document.querySelector(`#moved [data-mark="${mark}"]`);
    if (!card || !as) return;
    const look = faceside.copy(as);
    card.className = card.className.replace(/\bmark-\S+/, `mark-${mark}`);
    card.querySelector(".state")?.replaceWith(look.querySelector(".state"));
    const actions = card.querySelector(".actions");
    if (!actions) return;
    for (const form of actions.querySelectorAll(".tap")) form.remove();
    for (const form of [...look.querySelectorAll(".tap")].reverse()) {
      form.dataset.of = card.querySelector(".step-name").textContent.trim();
      form.querySelector("[name=step]").value = card.dataset.step;
      actions.prepend(form);
    }
  }

  // bring puts the card of a step on the bench, if it was fetched ahead.
  function bring(step) {
    const main = document.querySelector(".bench-main");
    const known = document.querySelector(`#ahead template[data-step="${CSS.escape(step)}"]`);
    if (!main || !known) return null;
    main.replaceChildren(faceside.copy(known));
    for (const row of document.querySelectorAll(`.bench-after a[href="/steps/${CSS.escape(step)}"]`)) row.closest(".row")?.remove();
    return main.querySelector(".step-card");
  }

  // next puts the next known step on the bench in place of a finished one.
  function next(card, done) {
    for (const known of document.querySelectorAll("#ahead template[data-step]")) {
      if (!done.has(known.dataset.step) && bring(known.dataset.step)) return;
    }
    card.closest(".bench-main").replaceChildren(faceside.copy(document.getElementById("no-more")));
  }

  // offerUndo lets the newest tap be taken back though it was not sent yet.
  function offerUndo(tap) {
    const who = document.querySelector(".bench-who");
    if (!who || !tap) return;
    who.querySelector(".tap-undo")?.remove();
    if (tap.kind === "undo") return;
    const undo = faceside.copy(document.getElementById("undo-unsent"));
    undo.querySelector("[name=undoes_id]").value = tap.id;
    const button = undo.querySelector("button span");
    button.textContent = faceside.say(button.textContent, { what: tap.label, of: tap.of });
    who.append(undo);
  }

  taken();
  return { taken, draw };
})();
