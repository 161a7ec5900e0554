// Cards that wait on this phone until they can be sent. Pages and the service worker share it.
"use strict";

self.digCards = self.digCards || (() => {
  const NEWS = "rootbound-cards";
  const ANSWERED_WITHIN = 45_000;

  function store(name, mode, act) {
    return new Promise((kept, lost) => {
      const opening = indexedDB.open("rootbound", 1);
      opening.onupgradeneeded = () => {
        opening.result.createObjectStore("cards", { keyPath: "id" });
        opening.result.createObjectStore("drafts", { keyPath: "id" });
      };
      opening.onerror = () => lost(opening.error);
      opening.onsuccess = () => {
        const base = opening.result;
        const work = base.transaction(name, mode);
        const asked = act(work.objectStore(name));
        work.oncomplete = () => { base.close(); kept(asked.result); };
        work.onabort = work.onerror = () => { base.close(); lost(work.error); };
      };
    });
  }

  const all = () => store("cards", "readonly", (cards) => cards.getAll());
  const get = (id) => store("cards", "readonly", (cards) => cards.get(id));
  const draft = (id) => store("drafts", "readonly", (drafts) => drafts.get(id));
  const keepDraft = (one) => store("drafts", "readwrite", (drafts) => drafts.put(one));
  const dropDraft = (id) => store("drafts", "readwrite", (drafts) => drafts.delete(id));

  async function keep(card) {
    await store("cards", "readwrite", (cards) => cards.put(card));
    tell();
  }

  async function drop(id) {
    await store("cards", "readwrite", (cards) => cards.delete(id));
    tell();
  }

  async function forget() {
    await store("cards", "readwrite", (cards) => cards.clear());
    await store("drafts", "readwrite", (drafts) => drafts.clear());
    if (self.caches) await caches.delete("rootbound-pages");
    tell();
  }

  function tell() {
    if (!self.BroadcastChannel) return;
    const news = new BroadcastChannel(NEWS);
    news.postMessage("changed");
    news.close();
  }

  function ask(path, more) {
    return fetch(path, {
      credentials: "same-origin", cache: "no-store", redirect: "manual",
      signal: AbortSignal.timeout(ANSWERED_WITHIN), ...more,
    });
  }

  // Who is signed in: {person, name, token}, or why that is not known.
  async function ready() {
    let answer;
    try {
      answer = await ask("/dig/ready", { headers: { Accept: "application/json" } });
    } catch {
      return { state: "offline" };
    }
    if (answer.type === "opaqueredirect" || answer.status === 401) return { state: "signed out" };
    if (!answer.ok) return { state: answer.status === 403 ? "refused" : "offline" };
    return { state: "ready", ...(await answer.json()) };
  }

  async function post(card, token) {
    const form = new FormData();
    for (const [name, value] of card.values) form.append(name, value);
    form.set("form_id", card.id);
    form.set("form_token", token);
    for (const one of card.photos) form.append("photo", one.blob, one.name);
    return ask(`/fields/${card.field}/dig`, {
      method: "POST", body: form, headers: { Accept: "application/json" },
    });
  }

  const WHY = {
    403: "You may not record in this field. Ask an adviser of its account.",
    404: "The field is not among those you see now. Look at the account it belongs to, then send it again.",
    413: "Its photos are too large to be sent. Correct the card and take fewer.",
  };

  // Sends one card: {state: "kept", at} | "offline" | "signed out" | "another" | "refused" with problems.
  async function send(card, token) {
    let answer;
    try {
      if (token) answer = await post(card, token);
      if (!answer || answer.status === 403 || answer.type === "opaqueredirect") {
        const who = await ready();
        if (who.state !== "ready") return { state: who.state, problems: [] };
        if (who.person !== card.person) return { state: "another" };
        answer = await post(card, who.token);
      }
      return await understood(answer);
    } catch {
      return { state: "offline" };
    }
  }

  async function understood(answer) {
    if (answer.type === "opaqueredirect") return { state: "signed out" };
    if (answer.ok) return { state: "kept", at: (await answer.json()).at };
    if (answer.status === 422) return { state: "refused", problems: (await answer.json()).problems };
    if (answer.status in WHY) {
      return { state: "refused", problems: [{ text: WHY[answer.status], spot: "" }] };
    }
    return { state: "offline" };  // the service is busy or down: later
  }

  // A card leaves the phone only when the service has said that it keeps it; that it does is
  // remembered until a page has told it.
  async function deliver(card, token) {
    const result = await send(card, token);
    if (result.state === "kept") {
      await keep({ id: card.id, person: card.person, name: card.name, at: result.at });
    } else if (result.state === "refused" && result.problems.length) {
      await keep({ ...card, refused: result.problems });
    }
    return result;
  }

  async function sendEach() {
    const results = [];
    for (const card of await all()) {
      if (card.refused || card.at) continue;
      const result = await deliver(card);
      results.push({ card, ...result });
      if (["offline", "signed out"].includes(result.state)) break;
    }
    return results;
  }

  async function sendThis(id, token) {
    const card = await get(id);
    if (!card) return { state: "gone" };
    return card.at ? { state: "kept", at: card.at } : deliver(card, token);
  }

  // Two tabs and the worker never send the same cards side by side.
  function alone(act) {
    const { locks } = self.navigator;
    return locks ? locks.request("rootbound-cards", act) : act();
  }

  const sendAll = () => alone(sendEach);
  const sendOne = (id, token) => alone(() => sendThis(id, token));

  return { NEWS, all, keep, drop, forget, draft, keepDraft, dropDraft, sendAll, sendOne };
})();
