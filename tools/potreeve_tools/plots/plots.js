// Draws panels as SVG and keeps their time axes together. Times are minutes since `start`.
// Pointer: move to read, drag to look closer, double-click for the whole.
// Keys on a plot: arrows read, + and - zoom, Page Up and Page Down move on, Home shows the whole.
(function () {
  "use strict";
  const NS = "http://www.w3.org/2000/svg", DAY = 1440, LEAST = 120;
  const MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(" ");
  const DAYS = "Sun Mon Tue Wed Thu Fri Sat".split(" ");
  const STEPS = [5, 15, 30, 60, 120, 180, 360, 720, DAY, 2 * DAY, 7 * DAY, 14 * DAY, 28 * DAY, 91 * DAY, 364 * DAY];
  let page = null, from = 0, to = 1, at = null, views = [], printing = 0;

  function node(name, attributes, parent, text) {
    const made = document.createElementNS(NS, name);
    for (const key of Object.keys(attributes)) { made.setAttribute(key, attributes[key]); }
    if (text !== undefined) { made.textContent = text; }
    if (parent) { parent.appendChild(made); }
    return made;
  }

  function two(number) { return (number < 10 ? "0" : "") + number; }
  function when(minute) { return new Date(Date.parse(page.start + "T00:00:00Z") + minute * 60000); }
  function clock(date) { return two(date.getUTCHours()) + ":" + two(date.getUTCMinutes()); }
  function day(date) { return date.getUTCDate() + " " + MONTHS[date.getUTCMonth()]; }
  function moment(minute) { const d = when(minute); return DAYS[d.getUTCDay()] + " " + day(d) + ", " + clock(d); }
  function figure(value, digits) {
    return value.toLocaleString("en-GB", {minimumFractionDigits: digits || 0, maximumFractionDigits: digits || 0});
  }

  // The place of the last time not after `minute`, -1 if there is none.
  function before(times, minute) {
    let low = 0, high = times.length;
    while (low < high) {
      const half = (low + high) >> 1;
      if (times[half] <= minute) { low = half + 1; } else { high = half; }
    }
    return low - 1;
  }

  function yTicks(low, high) {
    const rough = (high - low) / 4, power = Math.pow(10, Math.floor(Math.log10(rough)));
    const step = [1, 2, 5, 10].map((f) => f * power).find((s) => s >= rough), found = [];
    for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9; k += 1) { found.push(k * step || 0); }
    return {ticks: found, digits: Math.max(0, -Math.floor(Math.log10(step) + 1e-9))};
  }

  function frame(view) {
    const width = printing || Math.max(260, view.box.clientWidth), small = width < 480;
    const left = small ? 57 : 60, right = small ? 64 : 72, top = 10, bottom = 36;
    const high = Math.round(view.panel.height * (printing ? 0.74 : 1));
    const f = {width: width, high: high, left: left, top: top, wide: width - left - right, tall: high - top - bottom};
    f.x = (m) => left + (m - from) / (to - from) * f.wide;
    f.minute = (x) => from + (x - left) / f.wide * (to - from);
    f.y = (v, axis) => top + f.tall * (1 - (v - axis.low) / (axis.high - axis.low));
    return f;
  }

  function path(line, f, axis) {
    const first = Math.max(0, before(line.m, from)), last = Math.min(line.m.length - 1, before(line.m, to) + 1);
    const runs = [];
    let run = null;
    for (let i = first; i <= last; i += 1) {
      if (line.v[i] === null) { run = null; continue; }
      if (!run) { run = []; runs.push(run); }
      run.push(f.x(line.m[i]).toFixed(1) + " " + f.y(line.v[i], axis).toFixed(1));
    }
    const floor = (f.top + f.tall).toFixed(1);
    return {
      stroke: runs.map((r) => "M" + r.join("L")).join(""),
      area: runs.map((r) => "M" + r[0].split(" ")[0] + " " + floor + "L" + r.join("L") + "V" + floor + "Z").join(""),
    };
  }

  function drawAxes(view, f, svg) {
    const panel = view.panel, y = yTicks(panel.low, panel.high), floor = f.top + f.tall;
    y.ticks.forEach((v, i) => {
      const at_y = f.y(v, panel);
      node("path", {class: "grid", d: "M" + f.left + " " + at_y + "h" + f.wide}, svg);
      const unit = i === y.ticks.length - 1 ? panel.unit : "";
      node("text", {x: f.left - 6, y: at_y + 4, "text-anchor": "end"}, svg, figure(v, y.digits) + unit);
    });
    const step = STEPS.find((s) => (to - from) / s <= Math.max(2, f.wide / 84)) || STEPS[STEPS.length - 1];
    let said = "";
    for (let m = Math.ceil(from / step) * step; m <= to; m += step) {
      const x = f.x(m), date = when(m);
      node("path", {class: "axis", d: "M" + x + " " + floor + "v4"}, svg);
      const edge = x > f.left + f.wide - 20 ? "end" : "middle";
      if (step >= DAY) { node("text", {x: x, y: floor + 17, "text-anchor": edge}, svg, day(date)); continue; }
      node("text", {x: x, y: floor + 17, "text-anchor": edge}, svg, clock(date));
      if (day(date) !== said) { said = day(date); node("text", {x: x, y: floor + 32, "text-anchor": edge}, svg, said); }
    }
    node("path", {class: "axis stroke", d: "M" + f.left + " " + floor + "h" + f.wide}, svg);
    (panel.right ? panel.right.ticks : []).forEach((tick) => {
      const place = {x: f.left + f.wide + 6, y: f.y(tick.at, panel.right) + 4, class: "fill ink-" + panel.right.ink};
      node("text", place, svg, tick.text);
    });
  }

  function draw(view) {
    const panel = view.panel, f = view.frame = frame(view);
    const svg = node("svg", {viewBox: "0 0 " + f.width + " " + f.high, height: f.high, "aria-hidden": "true"});
    const clip = "clip-" + panel.id, floor = f.top + f.tall;
    const opening = node("clipPath", {id: clip}, node("defs", {}, svg));
    node("rect", {x: f.left, y: f.top, width: f.wide, height: f.tall}, opening);
    if (panel.band) {
      const high = Math.min(panel.band[1], panel.high), low = Math.max(panel.band[0], panel.low);
      node("rect", {class: "wash-leaf", x: f.left, y: f.y(high, panel), width: f.wide,
        height: f.y(low, panel) - f.y(high, panel)}, svg);
    }
    drawAxes(view, f, svg);
    const inner = node("g", {"clip-path": "url(#" + clip + ")"}, svg);
    if (panel.bars) {
      const wide = Math.max(150, page.minutes / 170);
      panel.bars.m.forEach((m, i) => {
        const top = f.y(panel.bars.v[i], panel.right), x = f.x(m), w = f.x(m + wide) - x;
        node("rect", {class: "stroke wash-water ink-water", x: x, y: top, width: w, height: floor - top}, inner);
      });
    }
    (panel.levels || []).forEach((level) => {
      const y = f.y(level.at, panel);
      node("path", {class: "stroke ink-" + level.ink, "stroke-dasharray": level.dash || "none",
        d: "M" + f.left + " " + y + "h" + f.wide}, svg);
      node("text", {class: "fill ink-" + level.ink, x: f.left + f.wide + 6, y: y + 4}, svg, level.text);
    });
    panel.lines.forEach((line) => {
      const d = path(line, f, line.right ? panel.right : panel);
      if (line.wash) { node("path", {class: "wash-" + line.wash, d: d.area}, inner); }
      node("path", {class: "stroke ink-" + line.ink, "stroke-width": line.width, d: d.stroke,
        "stroke-dasharray": line.dash || "none", "stroke-linejoin": "round"}, inner);
    });
    (panel.marks ? panel.marks.m : []).filter((m) => m >= from && m <= to).forEach((m) => {
      node("path", {class: "fill ink-clay", d: "M" + (f.x(m) - 6) + " " + f.top + "h12l-6 10z"}, svg);
    });
    view.hair = node("path", {class: "hair", d: "M0 " + f.top + "v" + f.tall, visibility: "hidden"}, svg);
    view.chosen = node("rect", {class: "chosen", y: f.top, height: f.tall, x: 0, width: 0, visibility: "hidden"}, svg);
    view.box.replaceChildren(svg);
    read(view);
  }

  // What stands at the cursor, as one line of text.
  function words(panel) {
    const parts = [];
    panel.lines.forEach((line) => {
      let i = before(line.m, at);
      if (i >= 0 && i + 1 < line.m.length && line.m[i + 1] - at < at - line.m[i]) { i += 1; }
      if (i < 0) { return; }
      parts.push(line.name + " " + (line.v[i] === null ? "not known" : figure(line.v[i], line.digits) + line.unit));
    });
    const close = (to - from) / 40;
    if (panel.bars) {
      const i = before(panel.bars.m, at + close / 4), reach = Math.max(150, page.minutes / 170) + close / 4;
      if (i >= 0 && at - panel.bars.m[i] < reach) { parts.push(panel.bars.text[i]); }
    }
    const marks = panel.marks || {m: [], text: []};
    parts.push(...marks.text.filter((text, i) => Math.abs(marks.m[i] - at) < close));
    return moment(at) + ": " + parts.join(" · ");
  }

  function read(view) {
    const inside = at !== null && at >= from && at <= to;
    view.hair.setAttribute("visibility", inside ? "visible" : "hidden");
    if (inside) { view.hair.setAttribute("transform", "translate(" + view.frame.x(at) + " 0)"); }
    view.readout.textContent = inside ? words(view.panel) : "\u00a0";
  }

  function point(minute) { at = minute; views.forEach(read); }

  function show(a, b) {
    const span = Math.min(page.minutes, Math.max(LEAST, b - a));
    from = Math.max(0, Math.min(page.minutes - span, a));
    to = from + span;
    if (at !== null) { at = Math.max(from, Math.min(to, at)); }
    views.forEach(draw);
  }

  function zoom(factor) {
    const middle = at === null ? (from + to) / 2 : at, share = (middle - from) / (to - from);
    const span = (to - from) * factor;
    show(middle - span * share, middle + span * (1 - share));
  }

  function move(share) { const span = to - from; show(from + share * span, from + share * span + span); }

  const DEEDS = {
    whole: () => show(0, page.minutes), closer: () => zoom(0.5), farther: () => zoom(2),
    earlier: () => move(-0.5), later: () => move(0.5),
  };
  const KEYS = {
    "+": DEEDS.closer, "=": DEEDS.closer, "-": DEEDS.farther, Home: DEEDS.whole,
    PageUp: DEEDS.earlier, PageDown: DEEDS.later, Escape: () => point(null),
  };

  function keys(view, event) {
    if (event.ctrlKey || event.altKey || event.metaKey) { return; }
    if (event.key === "ArrowLeft" || event.key === "ArrowRight") {
      const step = (to - from) / (event.shiftKey ? 10 : 100) * (event.key === "ArrowLeft" ? -1 : 1);
      point(Math.max(from, Math.min(to, (at === null ? (from + to) / 2 : at) + step)));
    } else if (KEYS[event.key]) { KEYS[event.key](); } else { return; }
    event.preventDefault();
    page.spoken.textContent = at === null ? moment(from) + " to " + moment(to) : words(view.panel);
  }

  function pointers(view) {
    let began = null;
    const drop = () => {
      began = null;
      view.chosen.setAttribute("visibility", "hidden");
    };
    const minute = (event) => {
      const box = view.box.getBoundingClientRect();
      return Math.max(from, Math.min(to, view.frame.minute((event.clientX - box.left) * view.frame.width / box.width)));
    };
    view.box.addEventListener("pointerdown", (event) => {
      if (event.pointerType !== "touch" && event.button === 0) {
        began = minute(event);
        view.box.setPointerCapture(event.pointerId);
      }
      point(minute(event));
    });
    view.box.addEventListener("pointermove", (event) => {
      point(minute(event));
      if (began === null) { return; }
      const x = Math.min(view.frame.x(began), view.frame.x(at));
      view.chosen.setAttribute("visibility", "visible");
      view.chosen.setAttribute("x", x);
      view.chosen.setAttribute("width", Math.abs(view.frame.x(began) - view.frame.x(at)));
    });
    view.box.addEventListener("pointerup", (event) => {
      const start = began, end = minute(event);
      drop();
      if (start === null || Math.abs(view.frame.x(start) - view.frame.x(end)) <= 8) { return; }
      show(Math.min(start, end), Math.max(start, end));
    });
    view.box.addEventListener("pointercancel", drop);
    view.box.addEventListener("pointerleave", () => { if (began === null) { point(null); } });
    view.box.addEventListener("dblclick", DEEDS.whole);
  }

  function start(data) {
    page = data;
    page.spoken = document.querySelector(".spoken");
    from = 0;
    to = page.minutes;
    views = page.panels.map((panel) => {
      const box = document.getElementById(panel.id);
      return {panel: panel, box: box, readout: box.parentNode.querySelector(".readout")};
    });
    views.forEach((view) => {
      draw(view);
      pointers(view);
      view.box.addEventListener("keydown", (event) => keys(view, event));
    });
    document.querySelectorAll("button[data-deed]").forEach((b) => b.addEventListener("click", DEEDS[b.dataset.deed]));
    document.querySelectorAll("button[data-from]").forEach((b) => {
      b.addEventListener("click", () => show(Number(b.dataset.from), Number(b.dataset.to)));
    });
    let width = 0;
    new ResizeObserver(() => {
      const now = views[0].box.clientWidth;
      if (now !== width && !printing) { width = now; views.forEach(draw); }
    }).observe(views[0].box);
    window.addEventListener("beforeprint", () => { printing = 660; at = null; views.forEach(draw); });
    window.addEventListener("afterprint", () => { printing = 0; views.forEach(draw); });
  }

  window.potreevePlots = {draw: start, show: show};
})();
