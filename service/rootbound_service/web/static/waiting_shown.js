// Shows the cards that wait on this phone, sends them when it can, and keeps pages for later.
"use strict";

self.waitingShown = self.waitingShown || (() => {
  const CAN_WAIT = "indexedDB" in self;
  const SHELL = "/s/sw.js";
  const KEPT_PAGES = 24;
  const AGAIN_MS = 10000;  // a network that has just come may still fail the first time
  const STATES = {
    "offline": "They are sent when there is network.",
    "signed out": "They are kept. Sign in, and they are sent.",
    "another": "They are somebody else's, and are sent when that person signs in here.",
  };
  let state = "";
  let later = 0;
  const done = [];

  function make(kind, text, more = {}) {
    const node = document.createElement(kind);
    node.textContent = text;
    for (const [name, value] of Object.entries(more)) node.setAttribute(name, value);
    return node;
  }

  function press(text, act, quiet = true) {
    const button = make("button", text, { type: "button" });
    if (quiet) button.className = "quiet";
    button.addEventListener("click", act);
    return button;
  }

  function place() {
    let box = document.getElementById("waiting");
    if (!box) {
      box = make("div", "", { id: "waiting" });
      document.querySelector("main").prepend(box);
    }
    box.setAttribute("role", "status");
    return box;
  }

  async function show() {
    if (!CAN_WAIT) return;
    const cards = await self.digCards.all();
    for (const one of cards.filter((card) => card.at)) await told(one);
    const refused = cards.filter((one) => one.refused);
    const waits = cards.filter((one) => !one.refused && !one.at);
    if (!cards.length && !done.length && !document.getElementById("waiting")) return;
    const box = place();
    box.replaceChildren();
    for (const one of done) box.append(sent(one));
    if (waits.length) box.append(waitingOf(waits));
    for (const one of refused) box.append(refusedOf(one));
  }

  async function told(one) {
    if (document.hidden || done.some((other) => other.id === one.id)) return;
    done.push(one);
    await self.digCards.drop(one.id);
  }

  function sent(one) {
    const line = make("p", `Kept: the card of ${one.name}. `, { class: "said" });
    line.append(make("a", "What it means", { href: one.at }));
    return line;
  }

  function waitingOf(cards) {
    const count = cards.length === 1 ? "1 card waits" : `${cards.length} cards wait`;
    const part = make("div", "", { class: "said waits" });
    const names = cards.map((one) => one.name).join(", ");
    part.append(make("p", `${count} on this phone (${names}). ${STATES[state] || ""}`));
    const row = make("p", "", { class: "row" });
    if (state === "signed out") {
      row.append(make("a", "Sign in", { class: "button", href: "/sign-in?to=/dig-list" }));
    }
    row.append(press("Send now", send));
    part.append(row);
    return part;
  }

  function refusedOf(card) {
    const part = make("div", "", { class: "problems" });
    part.append(make("h2", `The card of ${card.name} could not be kept; it is still on this phone`));
    const list = make("ul", "");
    for (const one of card.refused) list.append(make("li", one.text));
    const row = make("p", "", { class: "row" });
    row.append(press("Correct it", () => correct(card), false));
    row.append(press("Throw it away", () => throwAway(card)));
    part.append(list, row);
    return part;
  }

  async function correct(card) {
    await self.digCards.keepDraft({ ...card, id: `${card.person}-${card.field}`, form_id: card.id });
    await self.digCards.drop(card.id);
    location.assign(`/fields/${card.field}/dig`);
  }

  async function throwAway(card) {
    if (!confirm(`Throw away the card of ${card.name}? Nobody has it but this phone.`)) return;
    await self.digCards.drop(card.id);
    await show();
  }

  async function send() {
    if (!CAN_WAIT) return;
    const cards = await self.digCards.all();
    if (cards.some((one) => !one.refused && !one.at)) {
      const results = await self.digCards.sendAll();
      state = results.map((one) => one.state).find((one) => one in STATES) || "";
      clearTimeout(later);
      if (state === "offline" && navigator.onLine) later = setTimeout(() => send().catch(() => {}), AGAIN_MS);
    }
    await show();
  }

  // The worker takes a copy of the dig pages, so that a card opens where there is no network.
  async function keepPages() {
    if (!("serviceWorker" in navigator)) return;
    try {
      await navigator.serviceWorker.register(SHELL, { scope: "/", updateViaCache: "none" });
    } catch {
      return;  // a browser without a place to keep pages: all else works
    }
    const worker = (await navigator.serviceWorker.ready).active;
    const links = [...document.querySelectorAll('a[href^="/fields/"][href$="/dig"]')];
    const pages = new Set(links.slice(0, KEPT_PAGES).map((one) => one.getAttribute("href")));
    if (links.length || document.querySelector("form#dig")) pages.add("/dig-list");
    if (document.querySelector("form#dig")) pages.add(location.pathname);
    worker.postMessage({ keep: [...pages] });
  }

  // Pages kept for one person are not shown to the next who signs in on this phone.
  async function keepApart() {
    const whose = document.querySelector("[data-person]");
    if (!whose || !self.caches) return;
    if ((localStorage.getItem("rootbound-person") || whose.dataset.person) !== whose.dataset.person) {
      await caches.delete("rootbound-pages");
    }
    localStorage.setItem("rootbound-person", whose.dataset.person);
  }

  async function asksFirst(event) {
    const form = event.target;
    if (form.getAttribute("action") !== "/sign-out" || form.dataset.asked || !CAN_WAIT) return;
    event.preventDefault();
    const cards = (await self.digCards.all()).filter((one) => !one.at);
    const count = cards.length === 1 ? "1 card waits" : `${cards.length} cards wait`;
    const question = `${count} on this phone and nobody else has it. Signing out throws it away. Sign out?`;
    if (cards.length && !confirm(question)) {
      delete form.dataset.sent;
      return;
    }
    await self.digCards.forget();
    form.dataset.asked = "yes";
    delete form.dataset.sent;
    form.requestSubmit(event.submitter || undefined);
  }

  document.addEventListener("submit", asksFirst);
  document.addEventListener("visibilitychange", () => show());
  self.addEventListener("online", send);
  if (CAN_WAIT && self.BroadcastChannel) {
    new BroadcastChannel(self.digCards.NEWS).onmessage = show;
  }
  send().catch(() => {});
  keepApart().then(keepPages).catch(() => {});

  return { show, send, said(next) { state = next; return show(); } };
})();
