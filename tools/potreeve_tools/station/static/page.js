"use strict";
// The page works without this; with it, it follows what changes, and its plots can be looked into.
(() => {
  const main = document.getElementById("main");
  const said = document.getElementById("said");
  const part = main.dataset.part;
  const style = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  let plots = [];
  let span = { days: 7 };
  let ask = 0;

  // ---- live -----------------------------------------------------------------------------------

  let waiting = null;

  async function renew() {
    waiting = null;
    let text;
    try {
      const answer = await fetch(part, { headers: { Accept: "text/html" } });
      if (answer.redirected || !answer.ok) return;
      text = await answer.text();
    } catch {
      return;
    }
    const made = new DOMParser().parseFromString(text, "text/html").getElementById("main");
    if (!made) return;
    const held = document.activeElement && main.contains(document.activeElement) ? place(document.activeElement) : null;
    const before = main.querySelector("h1")?.textContent;
    const kept = main.querySelector("#plots");
    if (kept) made.querySelector("#plots")?.replaceWith(kept);
    main.replaceChildren(...made.childNodes);
    if (held) find(held)?.focus({ preventScroll: true });
    wire();
    const now = main.querySelector("h1")?.textContent;
    if (now && now !== before) said.textContent = now;
    if (kept) draw(false);
  }

  // Where the keyboard was, so that it is there again after the change.
  const place = (one) => one.id ? "#" + CSS.escape(one.id) : one.getAttribute("aria-label") || one.getAttribute("href") || one.dataset.days;
  function find(what) {
    if (what && what.startsWith("#")) return main.querySelector(what);
    return [...main.querySelectorAll("a, button, [tabindex]")].find((one) =>
      [one.getAttribute("aria-label"), one.getAttribute("href"), one.dataset.days].includes(what));
  }

  function listen() {
    if (!part || !window.EventSource) return;
    const source = new EventSource("/live");
    source.addEventListener("change", () => { waiting ??= setTimeout(renew, 150); });
    source.addEventListener("hello", () => { waiting ??= setTimeout(renew, 150); });
  }

  // ---- plots ----------------------------------------------------------------------------------

  const SYNC = "rig";
  const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
  const two = (number) => String(number).padStart(2, "0");
  // As in the tables: UTC, day before month, 24 hours.
  function day(second) {
    const at = new Date(second * 1000);
    return `${at.getUTCDate()} ${MONTHS[at.getUTCMonth()]}`;
  }
  const hour = (second) => `${two(new Date(second * 1000).getUTCHours())}:${two(new Date(second * 1000).getUTCMinutes())}`;
  const ticks = (_, splits) => splits.map((second) => (second % 86400 ? hour(second) : day(second)));

  function options(panel, width) {
    const axis = { stroke: style("--faint"), grid: { stroke: style("--rule"), width: 1 }, ticks: { stroke: style("--rule") }, font: "13px Georgia, serif" };
    const time = { label: "time", value: (_, value) => (value == null ? "–" : `${day(value)} ${hour(value)} UTC`) };
    const series = [time].concat(panel.series.map((one) => ({
      label: one.label, scale: one.scale || "y", stroke: style(one.colour), width: one.bars ? 0 : one.dash ? 1.5 : 2, dash: one.dash,
      fill: one.bars ? style(one.colour) : undefined, paths: one.bars ? uPlot.paths.bars({ size: [0.6, 5] }) : undefined,
      points: { show: false }, value: (_, value) => (value == null ? "–" : value + " " + one.unit),
    })));
    const axes = [{ ...axis, values: ticks, space: 64 }, { ...axis, scale: "y", size: 52 }];
    if (panel.series.some((one) => one.scale === "dose")) axes.push({ ...axis, scale: "dose", side: 1, size: 44, grid: { show: false } });
    return {
      width, height: 190, tzDate: (second) => uPlot.tzDate(new Date(second * 1000), "Etc/UTC"), series, axes, cursor: { sync: { key: SYNC }, drag: { x: true, y: false, setScale: false } },
      scales: { x: { time: true }, y: panel.range ? { range: panel.range } : {}, dose: { range: (_, low, high) => [0, Math.max(1, high) * 3] } },
      hooks: { setSelect: [(one) => zoom(one)] },
    };
  }

  function zoom(one) {
    if (one.select.width < 4) return;
    span = { from: Math.floor(one.posToVal(one.select.left, "x")), to: Math.ceil(one.posToVal(one.select.left + one.select.width, "x")) };
    draw(true);
  }

  async function draw(anew) {
    const box = document.getElementById("plots");
    if (!box || !window.uPlot) return;
    const mine = ++ask;
    const query = span.from ? `from=${span.from}&to=${span.to}` : `days=${span.days}`;
    let found;
    try {
      const answer = await fetch(`/rig/${box.dataset.rig}/history?${query}`);
      if (!answer.ok) return;
      found = await answer.json();
    } catch {
      return;
    }
    if (mine !== ask) return;
    const width = Math.max(240, box.clientWidth - 12);
    if (anew || plots.length !== found.panels.length) {
      plots.forEach((one) => one.destroy());
      box.replaceChildren();
      plots = found.panels.map((panel) => {
        const frame = document.createElement("div");
        frame.className = "plot";
        frame.setAttribute("role", "img");
        frame.setAttribute("aria-label", panel.words);
        const title = document.createElement("h3");
        title.textContent = panel.title;
        frame.append(title);
        box.append(frame);
        const made = new uPlot(options(panel, width), panel.data, frame);
        made.over.addEventListener("dblclick", () => { span = { days: 0 }; press(); draw(true); });
        return made;
      });
    } else {
      found.panels.forEach((panel, index) => plots[index].setData(panel.data));
    }
    press();
  }

  function press() {
    for (const one of document.querySelectorAll("[data-days]")) {
      one.setAttribute("aria-pressed", String(!span.from && Number(one.dataset.days) === span.days));
    }
  }

  function wire() {
    for (const one of document.querySelectorAll("[data-days]")) {
      one.onclick = () => { span = { days: Number(one.dataset.days) }; draw(true); };
    }
    press();
  }

  let wide = innerWidth;
  addEventListener("resize", () => { if (innerWidth !== wide) { wide = innerWidth; draw(true); } });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => draw(true));

  wire();
  draw(true);
  listen();
})();
