"use strict";
// The page works without this; with it, it follows what changes, and its plots can be looked into.
(() => {
  const main = document.getElementById("main");
  const said = document.getElementById("said");
  const part = main.dataset.part;
  let days = 7;
  let ask = 0;
  let shown = "";

  // ---- live -----------------------------------------------------------------------------------

  let waiting = null;
  let turn = 0;

  async function renew() {
    waiting = null;
    const mine = ++turn;
    let text;
    try {
      const answer = await fetch(part, { headers: { Accept: "text/html" } });
      if (answer.redirected || !answer.ok) return;
      text = await answer.text();
    } catch {
      return;
    }
    // An answer that a younger one has overtaken shows what was.
    if (mine !== turn) return;
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
    // "ready": what changed since the page was made and before anybody listened is told by nobody else.
    for (const name of ["change", "hello", "ready"]) {
      source.addEventListener(name, () => { waiting ??= setTimeout(renew, 150); });
    }
  }

  // ---- plots: drawn by plots.js; what is here asks for their span and keeps one's place in them ----

  async function draw(anew) {
    const box = document.getElementById("plots");
    if (!box || !window.potreevePlots) return;
    const mine = ++ask;
    let found;
    try {
      const answer = await fetch(`/rig/${box.dataset.rig}/history?days=${days}`);
      if (!answer.ok) return;
      found = await answer.text();
    } catch {
      return;
    }
    if (mine !== ask || (!anew && found === shown)) return;
    shown = found;
    const { data, html } = JSON.parse(found);
    const panels = document.getElementById("panels");
    const held = panels.contains(document.activeElement) ? document.activeElement.id : "";
    const open = [...panels.querySelectorAll("details")].map((one) => one.open);
    panels.replaceChildren(...new DOMParser().parseFromString(html, "text/html").body.childNodes);
    panels.querySelectorAll("details").forEach((one, index) => { one.open = Boolean(open[index]); });
    potreevePlots.draw(data, !anew);
    if (held) document.getElementById(held)?.focus({ preventScroll: true });
    press();
  }

  function press() {
    for (const one of document.querySelectorAll("[data-days]")) {
      one.setAttribute("aria-pressed", String(Number(one.dataset.days) === days));
    }
  }

  function wire() {
    for (const one of document.querySelectorAll("[data-days]")) {
      one.onclick = () => { days = Number(one.dataset.days); draw(true); };
    }
    press();
  }

  wire();
  draw(true);
  listen();
})();
