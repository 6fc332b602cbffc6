// What eyes find in the drawings: axe looks at no text in SVG.
"use strict";

window.eyes.drawn = (() => {
  const shapes = "rect, path, circle, ellipse, polygon, polyline, line, text";
  const outline = "defs, pattern, clipPath, marker, mask, symbol";
  const leastText = 7, leastMark = 3;

  // behind are the areas and rules that what is drawn stands on: days and hours of
  // the week (told in words above them), the bodies of blocks and boxes (their
  // frames are marks), plates under words, the bands of phases (named on them),
  // what is left of a board (framed by its edge), the light ground of a code.
  const behind = [
    ".wk-closed, .wk-open, .wk-head, .wk-rule, .wk-tick, .wk-body, .wk-hit, .wk-said-box, .wk-verdict-box",
    ".og-band, .og-dot-box, .ct-left, .code-ground",
  ].join(", ");

  // Contrast as WCAG 2.2 defines it.
  function light([r, g, b]) {
    const part = (v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
    return 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
  }
  function contrast(a, b) {
    const [x, y] = [light(a), light(b)];
    return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05);
  }

  // colour reads a computed colour: red, green, blue, and how opaque it is.
  function colour(text) {
    const n = text.match(/[\d.]+/g)?.map(Number);
    return text.startsWith("rgb") ? [n[0], n[1], n[2], n[3] ?? 1] : null;
  }
  function over(top, alpha, below) {
    return [0, 1, 2].map((i) => top[i] * alpha + below[i] * (1 - alpha));
  }

  // paint is what a shape is filled or drawn with: its colours (several for a
  // pattern) and how opaque it is; null for nothing.
  function paint(style, kind, faint) {
    const said = style[kind];
    if (said === "none" || kind === "stroke" && parseFloat(style.strokeWidth) === 0) return null;
    let colours = [colour(said)];
    if (said.startsWith("url")) {
      const id = said.match(/#([^"')]+)/)[1];
      colours = [...document.getElementById(id).querySelectorAll(shapes)].flatMap((s) => [colour(getComputedStyle(s).fill), colour(getComputedStyle(s).stroke)]).filter(Boolean);
      return { colours, alpha: 0.99, mixed: true };
    }
    const alpha = colours[0][3] * parseFloat(style[kind + "Opacity"]) * faint;
    return alpha < 0.01 ? null : { colours, alpha };
  }

  function faintness(e) {
    let all = 1;
    for (; e && e.tagName !== "svg"; e = e.parentElement) all *= parseFloat(getComputedStyle(e).opacity);
    return all;
  }

  function wall(e) {
    for (e = e.parentElement; e; e = e.parentElement) {
      const c = colour(getComputedStyle(e).backgroundColor);
      if (c && c[3] === 1) return c;
    }
    return [255, 255, 255, 1];
  }

  // known is all that is needed of a shape, read once.
  function known(e) {
    const style = getComputedStyle(e), faint = faintness(e);
    return {
      e, style, text: e.tagName === "text", fill: paint(style, "fill", faint), stroke: paint(style, "stroke", faint),
      box: e.getBoundingClientRect(), inverse: e.getScreenCTM().inverse(),
    };
  }

  // below lists the colours that may be at a point of the screen beneath a shape,
  // and says which mark is the topmost there. Of a pattern a text meets all colours,
  // a mark the ground, which is drawn first.
  function below(all, until, point, ground) {
    let there = [ground], top = null;
    for (let i = 0; i < until; i++) {
      const s = all[i], b = s.box;
      if (s.text || point.x < b.left - 3 || point.x > b.right + 3 || point.y < b.top - 3 || point.y > b.bottom + 3) continue;
      const p = point.matrixTransform(s.inverse);
      for (const [how, hit] of [["fill", "isPointInFill"], ["stroke", "isPointInStroke"]]) {
        if (!s[how] || !s.e[hit](p)) continue;
        const next = (all[until].text ? s[how].colours : s[how].colours.slice(0, 1)).flatMap((c) => there.map((t) => over(c, s[how].alpha, t)));
        there = s[how].mixed && all[until].text ? [...there, ...next] : next;
        if (!s.e.matches(behind)) top = s;
      }
    }
    return { colours: there, top };
  }

  // spots are points of the screen on which a shape is looked at.
  function spots(s) {
    const b = s.e.getBBox(), m = s.e.getScreenCTM();
    if (s.text) return [0.08, 0.5, 0.92].map((at) => new DOMPoint(b.x + b.width * at, b.y + b.height * 0.55).matrixTransform(m));
    const length = s.e.getTotalLength();
    return [0.13, 0.5, 0.77, 0.03, 0.25, 0.38, 0.63, 0.9].map((at) => {
      const p = s.e.getPointAtLength(length * at);
      return new DOMPoint(p.x, p.y).matrixTransform(m);
    });
  }

  // text checks one text: against what is beneath it, or its own halo.
  function text(all, i, ground) {
    const s = all[i], wrong = [];
    const size = parseFloat(s.style.fontSize) * Math.abs(s.e.getScreenCTM().d || 1);
    if (size < 11.9) wrong.push(`drawn text of ${size.toFixed(1)} px: “${s.e.textContent}”`);
    const halo = s.stroke && s.style.paintOrder.startsWith("stroke") && parseFloat(s.style.strokeWidth) >= 3 ? s.stroke.colours : null;
    let worst = 99;
    for (const p of spots(s)) {
      for (const c of halo ?? below(all, i, p, ground).colours) {
        worst = Math.min(worst, contrast(over(s.fill.colours[0], s.fill.alpha, c), c));
      }
      if (hidden(all, i, p)) { wrong.push(`drawn text is covered: “${s.e.textContent}”`); break; }
    }
    if (worst < leastText - 0.005) wrong.push(`drawn text of contrast ${worst.toFixed(2)}: “${s.e.textContent}” .${s.e.getAttribute("class")}`);
    return wrong;
  }

  // hidden says whether something opaque is drawn over a point later on.
  function hidden(all, i, point) {
    return all.slice(i + 1).some((s) => !s.text && s.fill && s.fill.alpha > 0.5 && !s.fill.mixed &&
      point.x > s.box.left && point.x < s.box.right && point.y > s.box.top && point.y < s.box.bottom && s.e.isPointInFill(point.matrixTransform(s.inverse)));
  }

  // mark checks that a shape stands out from what is beneath it, by its fill or
  // by its line; or else it goes on from a mark of its own colour.
  function mark(all, i, ground) {
    const s = all[i];
    let best = 0;
    for (const p of spots(s)) {
      const beneath = below(all, i, p, ground);
      for (const how of ["fill", "stroke"]) {
        if (!s[how]) continue;
        const least = Math.min(...beneath.colours.flatMap((b) => s[how].colours.map((c) => contrast(over(c, s[how].alpha, b), b))));
        best = Math.max(best, beneath.top && least < 1.05 ? leastMark : least);
      }
      if (best >= leastMark) return [];
    }
    return best < leastMark - 0.005 ? [`a drawn mark of contrast ${best.toFixed(2)}: ${s.e.tagName}.${s.e.getAttribute("class")} in ${s.e.closest("g")?.getAttribute("class") ?? ""}`] : [];
  }

  Object.assign(window.eyes, { contrast, colour, wall });

  return () => {
    const wrong = [];
    for (const svg of document.querySelectorAll("svg:not(.icon, .mark)")) {
      if (!window.eyes.seen(svg)) continue;
      const ground = wall(svg);
      const all = [...svg.querySelectorAll(shapes)].filter((e) => !e.closest(outline) && e.checkVisibility({ visibilityProperty: true })).map(known);
      all.forEach((s, i) => {
        if (s.text) { if (s.e.textContent.trim() && s.fill) wrong.push(...text(all, i, ground)); }
        else if ((s.fill || s.stroke) && !s.e.matches(behind) && s.box.width + s.box.height > 0) wrong.push(...mark(all, i, ground));
      });
    }
    return [...new Set(wrong)];
  };
})();
