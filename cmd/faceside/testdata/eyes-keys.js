// What a keyboard finds on a page.
"use strict";

window.eyes.keys = (() => {
  const { seen, name, parked, contrast, wall, colour } = window.eyes;
  let stops = [];

  // gather notes what a keyboard must come by, in the order of the page, and
  // returns how many that are.
  function gather() {
    stops = [...document.querySelectorAll(`${window.eyes.pressed}, [tabindex="0"]`)].filter((e) => !e.disabled && (seen(e) || parked(e)));
    document.activeElement.blur();
    window.scrollTo(0, 0);
    return stops.length;
  }

  // here says which of them has the focus (-1: none), and what is wrong with how
  // that is shown.
  function here() {
    const e = document.activeElement;
    const wrong = [];
    if (e !== document.body) {
      const style = getComputedStyle(e);
      if (style.outlineStyle === "none" || parseFloat(style.outlineWidth) < 2) wrong.push(`the focus does not show on ${name(e)}`);
      else if (contrast(colour(style.outlineColor), wall(e)) < 3) wrong.push(`the focus hardly shows on ${name(e)}: ${style.outlineColor} on ${wall(e)}`);
      const above = covering(e);
      if (above.length > 0) wrong.push(`what has the focus is covered: ${name(e)}, by ${[...new Set(above)].join(", ")}`);
    }
    return { stop: stops.indexOf(e), name: name(e), wrong };
  }

  // covering is what lies over an element, none where any of it can be seen without
  // scrolling.
  function covering(e) {
    const above = [];
    for (const r of e.getClientRects()) {
      for (const [x, y] of [[0.5, 0.5], [0.1, 0.2], [0.9, 0.2], [0.1, 0.8], [0.9, 0.8]]) {
        const top = document.elementFromPoint(r.left + r.width * x, r.top + r.height * y);
        if (top && (e.contains(top) || top.contains(e) && top !== document.body && top !== document.documentElement)) return [];
        above.push(top ? name(top) : "the edge of the screen");
      }
    }
    return above.length > 0 ? above : ["nothing: it has no room"];
  }

  return { gather, here };
})();
