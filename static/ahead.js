// What the screen shows of taps that were not sent yet: the step or the run in
// hand moves on with the cards that were fetched ahead. What the server drew last
// is kept and drawn first, then each such tap on top of it. What is wrong with a
// step is asked here, too, while the server cannot be.
"use strict";

faceside.ahead = (() => {
  const regions = [...document.querySelectorAll("#bench, #step")];
  const drawn = new Map(); // what the server drew, by region
  let opened = ""; // the step of a run that was opened because it was next
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
    unfold();
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
    opened = "";
    unfold();
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
    switch (tap.kind) {
      case "start":
        start(tap.step, done);
        break;
      case "start-run":
        startRun(tap, done);
        break;
      case "join-run":
        join(tap, done);
        break;
      case "put-down-run":
        for (const row of document.querySelectorAll(".run-step:has(.tap)")) leave(row, "put-down", done);
        break;
      case "put-down":
        lay(tap.step, "put-down", done);
        break;
      case "finish":
        lay(tap.step, "done", done);
        break;
      case "trouble":
        if (!staysInHand(tap)) lay(tap.step, "in-trouble", done);
    }
  }

  // staysInHand says whether trouble with a step leaves it in hand: who says that
  // it takes longer, or calls for a hand, goes on with it.
  function staysInHand(tap) {
    return ["estimate", "hand"].includes(field(tap, "trouble")?.split(":")[0]);
  }

  function cardOf(step) {
    return document.querySelector(`.step-card[data-step="${CSS.escape(step)}"]`);
  }

  function start(step, done) {
    done.delete(step);
    become(cardOf(step) ?? bring(step), "in-hand");
  }

  // startRun puts a run that was taken on the bench, with the steps that were taken.
  function startRun(tap, done) {
    const steps = tap.fields.filter(([name]) => name === "steps").map(([, step]) => step);
    if (steps.length === 1) { // that is a step like any other
      start(steps[0], done);
      return;
    }
    putRun(steps, tap.id);
  }

  // putRun puts a run of such steps on the bench, if it was fetched ahead.
  function putRun(steps, id) {
    const main = document.querySelector(".bench-main");
    for (const known of main ? document.querySelectorAll("#ahead template[data-run]") : []) {
      if (!steps.every((step) => known.content.getElementById(`run-step-${step}`))) continue;
      main.replaceChildren(faceside.copy(known));
      for (const row of main.querySelectorAll(".run-step")) {
        if (!steps.includes(stepOf(row))) row.remove();
      }
      for (const along of main.querySelectorAll(".run-along .row")) {
        if (steps.includes(along.querySelector("[name=step]").value)) along.remove();
      }
      main.querySelector(".tap-put-down-run [name=run]").value = id;
      steps.forEach(offTheList);
      count(main.querySelector(".run-card"));
      return;
    }
  }

  // join takes a step along with what is in hand: a single step becomes a run with it.
  function join({ step, id }, done) {
    const single = document.querySelector(".bench-main > .step-card.mark-in-hand[data-step]");
    if (single) {
      done.delete(step);
      putRun([single.dataset.step, step], id);
      return;
    }
    const known = document.querySelector(`template[data-along="${CSS.escape(step)}"]`), list = document.querySelector("#bench .run-steps");
    if (!known || !list) return;
    done.delete(step);
    document.getElementById(`run-step-${step}`)?.remove(); // it was laid aside before
    list.append(faceside.copy(known));
    known.closest(".row").remove();
    offTheList(step);
    count(list.closest(".run-card"));
  }

  // unfold opens the step of a run that is next, and folds the others, whenever
  // another one comes to be next.
  function unfold() {
    const next = document.querySelector(".run-card .run-step:has(.tap)");
    if ((next?.id ?? "") === opened) return;
    opened = next?.id ?? "";
    lead(next);
    for (const more of document.querySelectorAll(".run-card .run-more")) more.open = more.closest(".run-step") === next;
  }

  // lead has the main button of a run finish the step that is next.
  function lead(next) {
    const actions = document.querySelector(".run-card > .actions"), finish = next?.querySelector(".tap-finish")?.cloneNode(true);
    if (!actions || !finish) return;
    actions.querySelector(".tap-main")?.remove();
    finish.classList.add("tap-main");
    finish.querySelector("button").classList.add("main");
    actions.prepend(finish);
  }

  function stepOf(row) {
    return row.id.replace("run-step-", "");
  }

  // lay takes a step out of the hand, into another state.
  function lay(step, mark, done) {
    const row = document.getElementById(`run-step-${step}`), card = cardOf(step);
    if (row) leave(row, mark, done);
    else if (mark === "put-down" || card && !card.closest(".bench-main")) become(card, mark);
    else if (card) next(card, done.add(step));
    else done.add(step);
  }

  // leave takes a step out of the run in hand. It keeps its place; with the last
  // one the run is over.
  function leave(row, mark, done) {
    const card = row.closest(".run-card");
    const as = document.querySelector(`#moved [data-mark="${mark}"]`);
    if (!card || !as) return;
    done.add(stepOf(row));
    row.className = row.className.replace(/\bmark-\S+/, `mark-${mark}`);
    for (const rest of row.querySelectorAll(".run-more, .step-hands")) rest.remove();
    row.querySelector(".run-do").replaceChildren(faceside.copy(as).querySelector(".state"));
    if (count(card) === 0) next(card, done);
  }

  // count says how many steps of a run are still in hand.
  function count(card) {
    const left = card.querySelector(".run-left"), n = card.querySelectorAll(".run-step:has(.tap)").length;
    left.textContent = faceside.say(left.dataset.says, { n, of: card.querySelectorAll(".run-step").length });
    return n;
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
    offTheList(step);
    return main.querySelector(".step-card");
  }

  // offTheList takes a step off what comes after.
  function offTheList(step) {
    for (const row of document.querySelectorAll(`.bench-after a[href="/steps/${CSS.escape(step)}"]`)) row.closest(".row")?.remove();
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

  // What is wrong with a step is asked on the Bench itself, in its place, where the
  // server cannot be asked or does not know yet what was tapped of the step.
  const bench = document.getElementById("bench");
  const asking = document.createElement("div");
  asking.hidden = true; // else the Bench makes room for it
  bench?.before(asking);

  function ask(link) {
    const step = link.getAttribute("href").match(/^\/steps\/(\d+)\/trouble$/)?.[1];
    const known = step && document.querySelector(`#ahead template[data-trouble="${step}"]`);
    if (!known || !faceside.live.away() && faceside.queue.late().length === 0) return false;
    asking.replaceChildren(faceside.copy(known));
    asking.hidden = false;
    bench.hidden = true;
    asked("h1");
    return true;
  }

  // answered shows the Bench again, if a question stood in its place.
  function answered() {
    if (!bench?.hidden) return;
    asking.replaceChildren();
    asking.hidden = true;
    bench.hidden = false;
    asked("#bench h1");
  }

  // asked begins with what has just come, for the eye and for the keyboard.
  function asked(selector) {
    const heading = document.querySelector(selector);
    window.scrollTo({ top: 0, behavior: "instant" });
    heading?.setAttribute("tabindex", "-1");
    heading?.focus({ preventScroll: true });
  }

  document.addEventListener("click", (e) => {
    const link = e.target.closest?.("#bench a.do-trouble"), back = asking.contains(e.target) && e.target.closest("[data-back]");
    if (!back && !(link && ask(link))) return;
    if (back) answered();
    e.preventDefault();
    e.stopImmediatePropagation();
  }, true);

  taken();
  return { taken, draw, answered };
})();
