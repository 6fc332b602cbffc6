// What eyes, fingers and a keyboard find on a page. Only the browser tests load
// this; each function returns sentences about what is wrong, none where all is well.
"use strict";

window.eyes = (() => {
  const main = ".main, .primary, .reason, .actions .button, .who-choice .button";
  const pressed = "a[href], button, input:not([type=hidden]), select, textarea, summary";

  // seen says whether somebody can see an element, if they scroll to it.
  function seen(e) {
    return e.checkVisibility({ visibilityProperty: true, opacityProperty: true }) && !e.closest(".unseen, .print-only");
  }

  // parked is what waits off the screen until a keyboard comes to it.
  function parked(e) {
    return e.matches(".skip:not(:focus), .week-skip:not(:focus)");
  }

  function name(e) {
    const says = (e.getAttribute("aria-label") || e.textContent || e.name || e.id || "").replace(/\s+/g, " ").trim().slice(0, 40);
    return `${e.tagName.toLowerCase()}${e.id ? "#" + e.id : ""}.${e.getAttribute("class") ?? ""} “${says}”`;
  }

  function unfold() {
    for (const d of document.querySelectorAll("details")) d.open = true;
  }

  // What axe need not say: that something on a page is hidden (the walk looks at it
  // in the states that show it), and the lesser sister of color-contrast-enhanced.
  const leftOut = ["hidden-content", "color-contrast"];
  const ofColour = ["color-contrast-enhanced", "link-in-text-block"];
  const ofSize = ["target-size", "scrollable-region-focusable"];

  // barriers are what axe finds, or cannot decide by itself: by all its rules, by
  // those that hang on the size of the screen, or by those that hang on colours.
  // Of drawings it would have the colours of no text: see eyes-drawn.js.
  // Bars that float over the page are laid into it meanwhile: what passes below one
  // is seen once it has come out again, and axe could not say on what it stands.
  async function barriers(which) {
    const laid = [...document.body.querySelectorAll("*")].filter((e) => /fixed|sticky/.test(getComputedStyle(e).position) || e.matches(".nav-more > div"));
    for (const e of laid) e.style.position = "static";
    const rest = { all: axe.getRules().map((r) => r.ruleId).filter((id) => ![...leftOut, ...ofColour].includes(id)), size: ofSize, colours: [] }[which];
    try {
      strict();
      return [...await find({ exclude: [["svg"]] }, ofColour), ...rest.length > 0 ? await find(document, rest) : []];
    } finally {
      for (const e of laid) e.style.position = "";
    }
  }

  async function find(where, rules) {
    let found, told;
    do { // anew where the page was swapped meanwhile: of what is gone nothing can be told
      found = await axe.run(where, { runOnly: { type: "rule", values: rules }, resultTypes: ["violations", "incomplete"], elementRef: true, selectors: false });
      told = [...found.violations, ...found.incomplete].flatMap(({ nodes }) => nodes);
    } while (told.some((n) => !n.element.isConnected));
    const tell = (kind) => ({ id, help, nodes }) => nodes.map((n) =>
      `${kind} ${id}: ${name(n.element)}: ${[...n.any, ...n.all, ...n.none].map((c) => c.message).join("; ") || help}`);
    return [...found.violations.flatMap(tell("axe:")), ...found.incomplete.flatMap(tell("axe cannot tell"))];
  }

  // strict has large text, too, stand out by 7:1.
  function strict() {
    axe.configure({ checks: [{
      id: "color-contrast-enhanced",
      options: {
        ignoreUnicode: false, ignoreLength: true, ignorePseudo: false, boldValue: 700, boldTextPt: 14, largeTextPt: 18,
        contrastRatio: { normal: { expected: 7 }, large: { expected: 7 } }, pseudoSizeThreshold: 0.25, shadowOutlineEmMax: 0.1,
      },
    }] });
  }

  // box is the rectangle a finger can press for an element.
  function box(e) {
    if (e.matches("input[type=checkbox], input[type=radio]")) e = e.closest("label") ?? e;
    return e.getBoundingClientRect();
  }

  // inSentence says whether a link is a few words of running text: those are as
  // high as its lines are (WCAG 2.2, 2.5.8, "Inline").
  function inSentence(e) {
    return e.matches("a") && getComputedStyle(e).display === "inline" &&
      [...e.parentElement.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.data.trim().length > 1);
  }

  // layer is what an element moves with: something fixed or sticky, or the page.
  function layer(e) {
    for (; e; e = e.parentElement) if (/fixed|sticky/.test(getComputedStyle(e).position)) return e;
    return null;
  }

  // clip is the part of a rectangle that the scrolling boxes around it show now.
  function clip(e, r) {
    let { left, top, right, bottom } = r;
    for (let p = e.parentElement; p && p !== document.body; p = p.parentElement) {
      if (getComputedStyle(p).overflow === "visible") continue;
      const c = p.getBoundingClientRect();
      left = Math.max(left, c.left); right = Math.min(right, c.right);
      top = Math.max(top, c.top); bottom = Math.min(bottom, c.bottom);
    }
    return { left, top, right, bottom, none: right <= left || bottom <= top };
  }

  const least = 48, leastMain = 64, between = 8, tolerance = 0.05;

  // targets measures everything that is pressed, and the room between any two.
  function targets() {
    const wrong = [];
    const found = [...document.querySelectorAll(pressed)].filter((e) => !e.closest("svg") && seen(e) && !parked(e) && !inSentence(e));
    const boxes = [];
    for (const e of found) {
      const r = box(e), want = e.matches(main) ? leastMain : least;
      if (r.width < want - tolerance || r.height < want - tolerance) {
        wrong.push(`target of ${r.width.toFixed(1)} × ${r.height.toFixed(1)} px, not ${want}: ${name(e)}`);
      }
      const c = clip(e, r);
      if (!c.none) boxes.push({ e, c, layer: layer(e) });
    }
    for (let i = 0; i < boxes.length; i++) {
      for (let j = i + 1; j < boxes.length; j++) {
        const a = boxes[i], b = boxes[j];
        if (a.layer !== b.layer || a.e.contains(b.e) || b.e.contains(a.e)) continue;
        const dx = Math.max(a.c.left - b.c.right, b.c.left - a.c.right), dy = Math.max(a.c.top - b.c.bottom, b.c.top - a.c.bottom);
        if (Math.max(dx, dy) < between - tolerance) {
          wrong.push(`only ${Math.max(dx, dy).toFixed(1)} px between ${name(a.e)} and ${name(b.e)}`);
        }
      }
    }
    return [...wrong, ...onlyDrawn()];
  }

  // onlyDrawn: a mark in a drawing may be as small as what it stands for is short;
  // then a target of full size elsewhere on the page leads to the same (WCAG 2.2,
  // 2.5.8, "Equivalent").
  function onlyDrawn() {
    const elsewhere = new Set([...document.querySelectorAll("a[href]")].filter((a) => !a.closest("svg")).map((a) => a.getAttribute("href")));
    return [...document.querySelectorAll("svg a[href]")].filter((a) => seen(a) && !elsewhere.has(endOf(a)) && small(a))
      .map((a) => `only a small mark in a drawing leads to ${endOf(a)}`);
  }

  // endOf is where a link leads in the end: one to a box of a drawing on the page,
  // which is a link itself, leads where that does.
  function endOf(a) {
    const href = a.getAttribute("href");
    const there = href.startsWith("#") ? document.getElementById(href.slice(1)) : null;
    return (there?.closest("a") ?? there?.querySelector("a"))?.getAttribute("href") ?? href;
  }

  function small(e) {
    const r = e.getBoundingClientRect();
    return r.width < least - tolerance || r.height < least - tolerance;
  }

  // cut finds text that is cut off, leaves its box, or reaches over the screen's edge.
  function cut() {
    const wrong = [];
    const width = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth > width) wrong.push(`the page is ${document.documentElement.scrollWidth - width} px wider than the screen`);
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const range = document.createRange();
    for (let n; (n = walker.nextNode());) {
      const holder = n.parentElement;
      if (!n.data.trim() || holder.closest("svg, script, template, option, textarea") || !seen(holder) || holder.closest(".skip, .week-skip")) continue;
      range.selectNodeContents(n);
      for (const r of range.getClientRects()) {
        if (r.width < 1) continue;
        const why = outside(holder, r, width);
        if (why) { wrong.push(`${why}: ${name(holder)}`); break; }
      }
    }
    return wrong;
  }

  function outside(e, r, width) {
    for (; e && e !== document.body; e = e.parentElement) {
      const style = getComputedStyle(e), b = e.getBoundingClientRect();
      if (style.display === "inline" || style.display === "contents") continue;
      const sticks = Math.max(b.left - r.left, r.right - b.right);
      const hides = /hidden|clip/.test(style.overflowX) || /hidden|clip/.test(style.overflowY);
      if (hides && Math.max(sticks, b.top - r.top - 2, r.bottom - b.bottom - 2) > 1.5) return "text is cut off";
      if (/auto|scroll/.test(style.overflowX) && e.scrollWidth > e.clientWidth) return "";
      if (sticks > 1.5 && (parseFloat(style.borderLeftWidth) > 0 || style.backgroundColor !== "rgba(0, 0, 0, 0)")) return `text sticks ${sticks.toFixed(0)} px out of its box`;
      if (style.position === "fixed") break;
    }
    return r.right > width + 1 || r.left < -1 ? "text reaches over the edge of the screen" : "";
  }

  // covered says how much of the screen's height is taken by what does not scroll.
  function covered() {
    const high = window.innerHeight;
    let sum = 0;
    for (const e of document.body.querySelectorAll("*")) {
      const style = getComputedStyle(e);
      if (style.position !== "fixed" && !(style.position === "sticky" && style.bottom !== "auto") || !seen(e)) continue;
      const r = e.getBoundingClientRect();
      sum += Math.max(0, Math.min(r.bottom, high) - Math.max(r.top, 0));
    }
    return sum > high / 2 ? [`what does not scroll takes ${sum.toFixed(0)} of ${high} px`] : [];
  }

  // Motion that goes on although the tablet's owner asked for none.
  function moving() {
    const going = document.getAnimations().map((a) => `something moves: ${name(a.effect.target)}`);
    const would = [...document.querySelectorAll("body, body *")].filter((e) => {
      const s = getComputedStyle(e);
      return s.transitionDuration.split(", ").some((d) => parseFloat(d) > 0) || s.animationName !== "none" || s.scrollBehavior === "smooth";
    });
    return [...going, ...would.slice(0, 3).map((e) => `it would move: ${name(e)}`)];
  }

  // hovering finds what only a mouse that rests on it, or drags it, would bring out.
  function hovering() {
    const rules = (list) => [...list].flatMap((r) => [r, ...(r.cssRules ? rules(r.cssRules) : [])]);
    const hover = [...document.styleSheets].flatMap((s) => rules(s.cssRules)).filter((r) => r.selectorText?.includes(":hover")).map((r) => `a style for hovering: ${r.selectorText}`);
    const drag = [...document.querySelectorAll("[draggable=true], [ondragstart], [onmouseover], [title]")].map((e) => `needs a mouse: ${name(e)}`);
    return [...hover, ...drag];
  }

  // links are where the page leads to, on this server; what is to be kept as a file is no page.
  function links() {
    return [...new Set([...document.querySelectorAll("a[href]:not([download])")].map((a) => new URL(a.getAttribute("href"), location.href))
      .filter((u) => u.origin === location.origin).map((u) => u.pathname))];
  }

  return { axe: barriers, unfold, targets, cut, covered, moving, hovering, links, seen, name, parked, pressed };
})();
