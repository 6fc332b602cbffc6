// The tablet's queue of taps.
//
// Every tap goes through it: the fields of its form, whatever they are, with an
// id and a number of this tablet's own, are first written down on the tablet and
// then sent, one after the other in the order tapped. A tap leaves the queue only
// when the server has said what came of it. One that could not be sent at once is
// shown as not sent yet.
"use strict";

faceside.queue = (() => {
  const soonMs = 1500; // an answer that takes longer is not waited for at the screen
  const mostMs = 10000; // nor at all
  const again = [500, 1000, 2000, 5000]; // ms until the next attempt
  const pageID = faceside.newID();
  const shownAt = document.getElementById("not-sent");
  const others = new BroadcastChannel("faceside-queue");

  let list = []; // the taps that are kept, in order
  let busy = false;
  let asked = false; // to drain once more
  let draining = Promise.resolve();
  let failures = 0;
  let cannot = ""; // why the server does not take them now
  let timer = 0;
  let own = false;
  let kept = true; // false where the browser keeps nothing beyond this page
  const forms = new Map(); // form of each tap made on this page, by number

  // The store: IndexedDB, or where a browser has none a list that lasts as long
  // as the page does.
  const store = open().catch(() => {
    kept = false;
    return null;
  });
  let meta = { id: faceside.newID(), last: 0 };

  function open() {
    return new Promise((resolve, reject) => {
      const request = indexedDB.open("faceside", 1);
      request.onupgradeneeded = () => {
        request.result.createObjectStore("taps", { keyPath: "number" });
        request.result.createObjectStore("meta");
      };
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error);
    });
  }

  // change runs one transaction over the queue; work gets its two stores.
  async function change(work) {
    const db = await store;
    return new Promise((resolve, reject) => {
      const tx = db.transaction(["taps", "meta"], "readwrite", { durability: "strict" });
      let result;
      tx.oncomplete = () => resolve(result);
      tx.onabort = () => reject(tx.error);
      work(tx.objectStore("taps"), tx.objectStore("meta"), (r) => { result = r; });
    });
  }

  // add numbers a tap and writes it down, in one transaction: two pages of a
  // tablet never take the same number.
  async function add(tap) {
    if (!await store) {
      tap.queue = meta.id;
      tap.number = ++meta.last;
      list.push(tap);
      return;
    }
    await change((taps, metas) => {
      metas.get("queue").onsuccess = (e) => {
        const queue = e.target.result ?? { id: faceside.newID(), last: 0 };
        queue.last++;
        tap.queue = queue.id;
        tap.number = queue.last;
        metas.put(queue, "queue");
        taps.add(tap);
      };
    });
  }

  async function save(tap) {
    if (await store) await change((taps) => { taps.put(tap); });
  }

  async function remove(tap) {
    if (await store) await change((taps) => { taps.delete(tap.number); });
    list = list.filter((t) => t.number !== tap.number);
  }

  async function read() {
    if (await store) list = await change((taps, _, done) => { taps.getAll().onsuccess = (e) => done(e.target.result); });
  }

  // isLate says whether a tap is shown as not sent yet.
  function isLate(tap) {
    return tap.late || tap.page !== pageID;
  }

  // waited is for how many ms a tap has been kept: by the page's own steady
  // count, or by the clock where that says more (the tablet slept) or where the
  // page is another one by now. The server holds both against what it knows.
  function waited(tap) {
    const byClock = Date.now() - Date.parse(tap.at);
    if (tap.page !== pageID) return Math.max(0, Math.round(byClock));
    return Math.max(0, Math.round(performance.now() - tap.ran), Math.round(byClock));
  }

  // send tells the server one tap; null where nothing was heard, no state where the
  // server could not take it now and said why.
  async function send(tap, first) {
    const body = new URLSearchParams(tap.fields);
    body.set("queue", tap.queue);
    body.set("number", tap.number);
    body.set("said_at", tap.at);
    body.set("sent_at", new Date().toISOString());
    body.set("heard", tap.heard);
    if (isLate(tap)) {
      body.set("late", "on");
      body.set("waited", waited(tap));
    }
    if (first) body.set("first", "on");
    const soon = setTimeout(() => late(tap), soonMs);
    try {
      const answer = await fetch("/tap", {
        method: "POST", body, headers: { Accept: "application/json" }, cache: "no-store", signal: AbortSignal.timeout(mostMs),
      });
      if (answer.status === 401) faceside.signIn();
      const said = await answer.json();
      if (answer.ok) return said;
      return said.why ? { why: said.why, now: said.now } : null;
    } catch {
      return null;
    } finally {
      clearTimeout(soon);
    }
  }

  // drain sends what is kept, in order, until it is empty or the server is away; what
  // it returns is there once that is over.
  function drain() {
    if (busy) asked = true;
    else draining = drainAll();
    return draining;
  }

  async function drainAll() {
    busy = true;
    clearTimeout(timer);
    try {
      let from = 0;
      do {
        asked = false;
        await read();
        for (let tap; (tap = list.find((t) => t.number >= from) ?? list[0]);) {
          const sentLate = isLate(tap);
          const answer = await send(tap, from > 0 && tap.number > from);
          if (answer) faceside.live.hear(answer.now);
          if (!answer?.state) {
            await failed(tap, answer?.why ?? "");
            return;
          }
          failures = 0;
          from = 0;
          cannot = "";
          if (answer.state === "send") from = answer.from;
          else await settle(tap, answer, sentLate);
          await read();
        }
      } while (asked);
    } finally {
      busy = false;
      show();
    }
  }

  // failed keeps a tap for later, and those behind it. Where the server was reached it
  // has said why.
  async function failed(tap, why) {
    cannot = why;
    for (const t of list) await late(t);
    await late(tap);
    if (!why) faceside.live.lost();
    timer = setTimeout(drain, again[Math.min(failures++, again.length - 1)]);
  }

  // late has a tap shown as not sent yet; the screen moves on without an answer.
  async function late(tap) {
    if (tap.late) return;
    tap.late = true;
    const there = list.find((t) => t.number === tap.number);
    if (there) there.late = true;
    await save(tap);
    show();
    const form = forms.get(tap.number);
    forms.delete(tap.number);
    if (form) goOn(form, true);
  }

  // settle takes a tap off the queue and shows what came of it.
  async function settle(tap, answer, sentLate) {
    const now = list.find((t) => t.number === tap.number) ?? tap;
    if (answer.state === "refused" && !sentLate && isLate(now)) return; // nobody waits at the screen any more: sent again, it becomes a question
    await remove(tap);
    others.postMessage("changed");
    const form = forms.get(tap.number);
    forms.delete(tap.number);
    if (answer.state === "asked" && document.body.dataset.screen !== "bench") shownAt.querySelector(".asked").hidden = false;
    if (answer.state === "refused") refuse(answer.why, form);
    else if (form) goOn(form, false);
    if (!form || answer.state !== "written") faceside.refresh();
  }

  // refuse tells who tapped why it was not possible.
  function refuse(why, form) {
    if (form) release(form);
    const said = faceside.copy(document.getElementById("refused"));
    said.querySelector("span").textContent = why;
    (document.getElementById("notice") ?? document.getElementById("failed")).replaceChildren(said);
  }

  // goOn leads to where the form of a tap leads without script. The Bench shows by
  // itself what was not sent yet.
  function goOn(form, unsent) {
    release(form);
    if (unsent && document.getElementById("bench")) {
      faceside.ahead.answered();
      return;
    }
    const back = form.dataset.to || form.elements.back?.value;
    if (back && back !== location.pathname && (!unsent || navigator.serviceWorker?.controller)) location.assign(back);
    else if (!unsent) faceside.refresh();
  }

  function release(form) {
    delete form.dataset.sent;
    for (const button of form.querySelectorAll("button")) button.removeAttribute("aria-disabled");
  }

  // On a phone the list would stand between the maker and the step: there it is folded.
  shownAt.querySelector("details").open = matchMedia("(min-width: 48rem)").matches;

  // show lists what is not sent yet, and has the screen moved on by it.
  function show() {
    const late = list.filter(isLate);
    const rows = shownAt.querySelector("ol");
    rows.replaceChildren(...late.map((tap) => {
      const row = faceside.copy(shownAt.querySelector("template"));
      row.querySelector(".when").textContent = faceside.clock(new Date(tap.at), tap.ahead);
      row.querySelector(".what").textContent = tap.label;
      row.querySelector(".of").textContent = tap.of;
      return row;
    }));
    sayClocks();
    const said = shownAt.querySelector(".cannot");
    said.hidden = cannot === "" || late.length === 0;
    said.querySelector("span").textContent = cannot;
    const count = shownAt.querySelector(".count");
    count.textContent = faceside.say(late.length === 1 ? count.dataset.single : count.dataset.several, { n: late.length });
    shownAt.querySelector("details").hidden = late.length === 0;
    shownAt.hidden = late.length === 0 && shownAt.querySelector(".asked").hidden;
    faceside.ahead.draw();
    faceside.changedState();
  }

  // sayClocks says by which clock the taps are listed, where the tablet's shows another.
  function sayClocks() {
    const said = shownAt.querySelector(".clocks"), now = new Date();
    const off = Math.round((now - faceside.atShop(now, faceside.live.ahead())) / 1000);
    said.hidden = Math.abs(off) < 60;
    if (!said.hidden) said.textContent = faceside.say(off > 0 ? said.dataset.ahead : said.dataset.behind, { span: faceside.about(Math.abs(off)) });
  }

  // tap writes down what a form says.
  async function tap(form, submitter) {
    if (form.dataset.sent !== undefined) return; // a double tap is one tap
    form.dataset.sent = "";
    form.dataset.to = submitter?.dataset.to ?? "";
    const said = [...new FormData(form, submitter)];
    for (const button of form.querySelectorAll("button")) button.setAttribute("aria-disabled", "true"); // disabled itself would lose the keyboard's focus
    document.getElementById("notice")?.replaceChildren();
    own = true;
    faceside.live.goOn();
    const id = faceside.newID();
    const fields = said.filter(([name]) => name !== "tap_id" && name !== "person");
    fields.push(["tap_id", id], ["person", document.getElementById("live").dataset.person]);
    const field = (name) => said.find(([n]) => n === name)?.[1] ?? "";
    const label = submitter?.querySelector("span")?.firstChild?.textContent ?? submitter?.textContent ?? "";
    const made = {
      fields, id, kind: field("kind"), step: field("step"),
      label: ((submitter ?? form).closest("[data-label]")?.dataset.label ?? label).trim(), of: form.dataset.of ?? "", at: new Date().toISOString(), ahead: faceside.live.ahead(),
      ran: performance.now(), page: pageID, heard: faceside.live.heard(), late: false,
    };
    await add(made);
    forms.set(made.number, form);
    await read();
    others.postMessage("changed");
    if (list.some((t) => t.number < made.number && isLate(t))) await late(list.find((t) => t.number === made.number)); // it waits behind others
    drain();
  }

  document.addEventListener("submit", (e) => {
    if (e.target.getAttribute("action") !== "/tap") return;
    e.preventDefault();
    e.stopImmediatePropagation();
    tap(e.target, e.submitter);
  }, true);

  others.addEventListener("message", async () => {
    await read();
    show();
  });

  document.addEventListener("DOMContentLoaded", async () => { // the other scripts are there then
    await read();
    show();
    if (list.length > 0) drain();
  });

  return {
    drain: () => (list.length > 0 ? drain() : draining),
    late: () => list.filter(isLate),
    kept: () => kept,
    // tapped says, once, whether the screen is drawn anew after a tap of ours.
    tapped: () => {
      const was = own;
      own = false;
      return was;
    },
  };
})();
