// How this tablet is doing, on the Shop screen: every answer stands on the page,
// and the one that holds is shown.
"use strict";

(() => {
  const part = document.getElementById("this-tablet");
  if (!part) return;

  function choose(question, answer) {
    for (const e of part.querySelectorAll(`[data-${question}]`)) e.hidden = e.dataset[question] !== answer;
  }

  function show() {
    choose("connection", faceside.live.away() ? "away" : "there");
    const waiting = faceside.queue.late().length;
    choose("queue", !faceside.queue.kept() ? "unkept" : waiting > 0 ? "some" : "empty");
    for (const e of part.querySelectorAll("[data-queue=some] b")) e.textContent = waiting;
    choose("worker", faceside.worker.state());
  }

  // clock compares the tablet's clock with the server's of when the page came.
  function clock() {
    const took = performance.timeOrigin + performance.getEntriesByType("navigation")[0].responseStart;
    const off = Math.round((took - Date.parse(part.dataset.clock)) / 1000);
    choose("clock", Math.abs(off) < 60 ? "right" : off > 0 ? "ahead" : "behind");
    for (const e of part.querySelectorAll("[data-clock] b")) e.textContent = faceside.about(Math.abs(off));
  }

  document.addEventListener("faceside:state", show);
  show();
  clock();
})();
