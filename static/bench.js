// At the bench: pieces tapped off, the quiet timer, a screen that stays on, and what
// is said of a photo before it is sent. Each works without script in its plain way.
"use strict";

(() => {
  const remembered = (key) => { try { return localStorage.getItem(key); } catch { return null; } };
  const remember = (key, value) => { try { localStorage.setItem(key, value); return true; } catch { return false; } };

  // Pieces. A tick is written down on the tablet, then sent until the server has
  // answered; the same id twice is one tick, so it is sent as often as it takes.
  const ticksKey = "faceside-ticks", doubleMs = 500, againMs = 3000;
  let unkept = []; // where a browser keeps nothing
  let sending = false, timer = 0;
  const tapped = new Map(); // when each piece was tapped last

  function pending() {
    const text = remembered(ticksKey);
    return text === null ? unkept : JSON.parse(text);
  }

  function keep(list) {
    unkept = remember(ticksKey, JSON.stringify(list)) ? [] : list;
  }

  function press(form, done) {
    const field = form.querySelector("[name=done]");
    if (done && field) field.remove();
    if (!done && !field) form.insertAdjacentHTML("afterbegin", `<input type="hidden" name="done" value="on">`);
    form.querySelector("button").setAttribute("aria-pressed", done);
    form.querySelector("[name=tick_id]").value = faceside.newID();
  }

  document.addEventListener("submit", (e) => {
    const form = e.target.closest("form.tick");
    if (!form) return;
    e.preventDefault();
    e.stopImmediatePropagation(); // it needs no server now
    const { piece } = form.dataset, last = tapped.get(piece) ?? -doubleMs;
    if (performance.now() - last < doubleMs) return; // a double tap is one tap
    tapped.set(piece, performance.now());
    const fields = [...new FormData(form)];
    const done = fields.some(([name]) => name === "done");
    keep([...pending(), { piece, done, fields }]);
    press(form, done);
    send();
  }, true);

  // show has the pieces stand as they were tapped, whatever was drawn meanwhile.
  function show() {
    for (const tick of pending()) {
      const form = document.querySelector(`form.tick[data-piece="${CSS.escape(tick.piece)}"]`);
      if (form) press(form, tick.done);
    }
  }

  // A tick comes after the taps before it: the step may not be begun yet for the server.
  async function send() {
    if (sending) return;
    sending = true;
    clearTimeout(timer);
    try {
      if (faceside.queue.late().length > 0) throw new Error("not yet");
      for (let tick; (tick = pending()[0]);) {
        const answer = await fetch("/ticks", {
          method: "POST", body: new URLSearchParams(tick.fields), headers: { Accept: "application/json" }, cache: "no-store", signal: AbortSignal.timeout(10000),
        });
        if (answer.status === 401) faceside.signIn();
        if ([401, 408, 429].includes(answer.status) || answer.status >= 500) throw new Error("not now");
        keep(pending().slice(1));
        if (!answer.ok) await refuse(answer);
      }
    } catch {
      timer = setTimeout(send, againMs);
    } finally {
      sending = false;
    }
  }

  async function refuse(answer) {
    const { why } = await answer.json().catch(() => ({ why: "" }));
    const said = faceside.copy(document.getElementById("refused"));
    said.querySelector("span").textContent = why;
    (document.getElementById("notice") ?? document.getElementById("failed")).replaceChildren(said);
    faceside.refresh();
  }

  // The timer goes on from what the page says, by the tablet's own steady count.
  const came = new Map(); // when each state of a timer was first seen
  function write(element, said) {
    if (element.textContent !== said) element.textContent = said;
  }

  function count() {
    for (const element of document.querySelectorAll(".timer")) {
      const { seconds, rate, estimate, within, beyond } = element.dataset;
      const key = `${element.closest("[data-step]")?.dataset.step} ${seconds} ${rate}`;
      if (!came.has(key)) came.set(key, performance.now());
      const so = Number(seconds) + Number(rate) * (performance.now() - came.get(key)) / 1000;
      write(element.querySelector(".timer-worked"), faceside.span(Math.floor(so / 60)));
      write(element.querySelector(".timer-against"), so > Number(estimate) ? beyond : within);
      element.querySelector("progress").value = Math.min(so, Number(estimate));
    }
  }

  // The screen stays on while a person wants it to and the page is seen.
  const awakeKey = "faceside-awake";
  let lock = null;

  async function hold() {
    const wanted = remembered(awakeKey) === "on";
    if (wanted && !lock && document.visibilityState === "visible") {
      try {
        lock = await navigator.wakeLock.request("screen");
        lock.addEventListener("release", () => { lock = null; drawWake(); });
      } catch {
        lock = null; // the battery is low, or it is not allowed
      }
    } else if (!wanted && lock) {
      await lock.release();
    }
    drawWake();
  }

  function drawWake() {
    const box = document.getElementById("wake");
    if (!box) return;
    const possible = "wakeLock" in navigator, button = box.querySelector("button");
    box.hidden = !possible && window.isSecureContext;
    button.hidden = !possible;
    box.querySelector(".wake-plain").hidden = possible;
    button.setAttribute("aria-pressed", lock !== null);
    button.querySelector("span").textContent = lock ? box.dataset.awake : box.dataset.asleep;
  }

  document.addEventListener("click", (e) => {
    if (!e.target.closest("#wake button")) return;
    remember(awakeKey, lock ? "off" : "on");
    hold();
  });

  // A photo that is too large is said before it is sent for minutes.
  function tooLarge(form) {
    const file = form.querySelector("input[type=file]").files[0];
    const said = document.getElementById("photo-too-large");
    const large = file !== undefined && file.size > Number(form.dataset.most);
    said.hidden = !large;
    if (large) said.textContent = faceside.say(said.dataset.say, { size: `${Math.ceil(file.size / (1 << 20))} MB` });
    return large;
  }

  document.addEventListener("change", (e) => {
    const form = e.target.closest(".note-form");
    if (form && e.target.type === "file") tooLarge(form);
  });
  document.addEventListener("submit", (e) => {
    if (!e.target.matches(".note-form")) return;
    if (tooLarge(e.target)) e.preventDefault();
    else e.target.querySelector("button").setAttribute("aria-busy", "true");
  });

  function draw() {
    show();
    count();
    drawWake();
  }

  document.addEventListener("htmx:after:swap", draw);
  document.addEventListener("faceside:state", show); // the screen moved on by what is not sent yet
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") { send(); hold(); } });
  window.addEventListener("online", send);
  setInterval(count, 5000);
  draw();
  send();
  if ("wakeLock" in navigator) hold();
})();
