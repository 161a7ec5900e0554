// The dig card on a phone: kept on the phone first, then sent; nothing typed is ever lost.
"use strict";

(() => {
  const form = document.querySelector("form#dig");
  const key = `${form.dataset.person}-${form.dataset.field}`;
  const number = form.elements.namedItem("form_id");
  const button = form.querySelector(".wide-button");
  const CAN_WAIT = "indexedDB" in self && "randomUUID" in crypto;
  const NOT_TYPED = ["form_token", "form_id", "photo"];
  let busy = false;
  let saving = 0;

  function typed() {
    return [...new FormData(form)].filter(([name, value]) => !NOT_TYPED.includes(name) && value !== "");
  }

  // A page kept for later carries the day and the number of the day it was kept.
  function renew() {
    number.value = crypto.randomUUID();
    if (!("kept" in form.dataset)) return;
    const day = form.elements.namedItem("date");
    const now = new Date();
    const today = [now.getFullYear(), now.getMonth() + 1, now.getDate()]
      .map((one) => String(one).padStart(2, "0")).join("-");
    if (day.max < today) {
      if (day.value === day.max) day.value = today;
      day.max = today;
    }
  }

  function fill(values) {
    const given = new Map(values);
    for (const input of form.elements) {
      if (!input.name || NOT_TYPED.includes(input.name)) continue;
      if (input.type === "radio") input.checked = given.get(input.name) === input.value;
      else input.value = given.get(input.name) || "";
    }
  }

  async function comeBack() {
    const kept = await self.digCards.draft(key);
    if (!kept) return;
    fill(kept.values);
    number.value = kept.form_id;
    self.digPhotos.put(kept.photos);
    self.digPlants.show(0, false);
    if (kept.refused) complain(kept.refused);
    else say("What you had typed is here again.", [["Begin anew", beginAnew]]);
  }

  async function beginAnew() {
    await self.digCards.dropDraft(key);
    location.reload();
  }

  function save() {
    clearTimeout(saving);
    saving = setTimeout(async () => {
      if (busy) return;
      const photos = await self.digPhotos.all();
      if (busy) return;
      await self.digCards.keepDraft({ id: key, form_id: number.value, values: typed(), photos });
    }, 400);
  }

  function say(text, ways) {
    const old = document.getElementById("dig-said");
    if (old) old.remove();
    const box = document.createElement("p");
    box.id = "dig-said";
    box.className = "said";
    box.setAttribute("role", "status");
    box.textContent = `${text} `;
    for (const [word, act] of ways) {
      const press = document.createElement("button");
      press.type = "button";
      press.className = "quiet";
      press.textContent = word;
      press.addEventListener("click", act);
      box.append(press);
    }
    form.before(box);
    return box;
  }

  function uncomplain() {
    document.getElementById("problems").hidden = true;
    for (const one of form.querySelectorAll(".problem")) one.remove();
    for (const one of form.querySelectorAll("[aria-invalid]")) {
      one.removeAttribute("aria-invalid");
      one.removeAttribute("aria-describedby");
    }
  }

  function complain(problems) {
    uncomplain();
    const box = document.getElementById("problems");
    const list = box.querySelector("ul");
    list.replaceChildren(...problems.map((one) => {
      const row = document.createElement("li");
      const input = one.spot && document.getElementById(one.spot);
      if (!input) {
        row.textContent = one.text;
        return row;
      }
      const way = document.createElement("a");
      way.href = `#${one.spot}`;
      way.textContent = one.text;
      way.addEventListener("click", (event) => { event.preventDefault(); goTo(input); });
      row.append(way);
      beside(input, one);
      return row;
    }));
    box.hidden = false;
    box.focus();
    box.scrollIntoView({ block: "start" });
  }

  function beside(input, one) {
    const note = document.createElement("p");
    note.className = "problem";
    note.id = `wrong-${one.spot}`;
    note.textContent = one.text;
    (input.closest(".cards, .stepper") || input).after(note);
    input.setAttribute("aria-invalid", "true");
    input.setAttribute("aria-describedby", note.id);
  }

  function goTo(input) {
    const plant = self.digPlants.of(input);
    if (plant >= 0) self.digPlants.show(plant, false);
    input.focus();
    input.scrollIntoView({ block: "center" });
  }

  // The browser's own complaint cannot point at a plant that is folded away.
  function wrongNow() {
    return [...form.elements].filter((one) => one.validity && !one.validity.valid).map((one) => {
      const plant = self.digPlants.of(one);
      const where = plant < 0 ? "" : `plant ${plant + 1}, `;
      return { text: `${where}${one.labels[0].textContent}: ${one.validationMessage}`, spot: one.id };
    });
  }

  async function send(event) {
    event.preventDefault();
    if (busy) return;
    const wrong = wrongNow();
    if (wrong.length) {
      delete form.dataset.sent;
      complain(wrong);
      return;
    }
    busy = true;
    button.disabled = true;
    button.textContent = "Keeping it";
    clearTimeout(saving);
    try {
      await hand();
    } finally {
      busy = false;
      button.disabled = false;
      button.textContent = "Keep the card";
      delete form.dataset.sent;
    }
  }

  async function hand() {
    const card = {
      id: number.value, person: Number(form.dataset.person), who: form.dataset.who,
      field: Number(form.dataset.field), name: form.dataset.name,
      values: typed(), photos: await self.digPhotos.all(),
    };
    await self.digCards.keep(card);
    const result = await self.digCards.sendOne(card.id, form.elements.namedItem("form_token").value);
    if (result.state === "refused" && result.problems.length) {
      await self.digCards.keepDraft({ ...card, id: key, form_id: card.id });
      await self.digCards.drop(card.id);
      await self.waitingShown.show();
      complain(result.problems);
      return;
    }
    await self.digCards.dropDraft(key);
    if (result.state === "kept") {
      await self.digCards.drop(card.id);
      renew();  // whoever comes back to this page begins another card
      location.assign(result.at);
      return;
    }
    await waits(result.state);
  }

  async function waits(state) {
    if (navigator.storage && navigator.storage.persist) navigator.storage.persist().catch(() => {});
    form.reset();
    renew();
    self.digPhotos.put([]);
    uncomplain();
    self.digPlants.show(0, false);
    await self.waitingShown.said(state);
    const box = document.getElementById("waiting");
    box.tabIndex = -1;
    box.focus();
    box.scrollIntoView({ block: "start" });
    const shell = "serviceWorker" in navigator && await navigator.serviceWorker.getRegistration();
    if (shell && shell.sync) await shell.sync.register("dig-cards").catch(() => {});
  }

  // Read once before the first card of a visit; afterwards it stands folded on top.
  function cautionsFirst() {
    const care = document.getElementById("cautions");
    const fold = () => {
      const folded = document.createElement("details");
      const title = document.createElement("summary");
      title.textContent = "Before you dig: lines, labels, heat";
      folded.append(title, ...care.childNodes);
      care.append(folded);
      form.hidden = false;
    };
    if (sessionStorage.getItem("cautions-read")) {
      fold();
      return;
    }
    form.hidden = true;
    const read = document.createElement("button");
    read.type = "button";
    read.textContent = "I have read this: to the card";
    read.addEventListener("click", () => {
      sessionStorage.setItem("cautions-read", "yes");
      read.remove();
      fold();
      form.elements.namedItem("date").focus();
    });
    care.append(read);
  }

  self.digPlants.begin();
  if (document.getElementById("problems").hidden) cautionsFirst();
  if (!CAN_WAIT) return;
  const refusedByPage = !document.getElementById("problems").hidden;
  if (!refusedByPage) renew();
  self.digPhotos.begin(form, save);
  form.addEventListener("input", save);
  form.noValidate = true;
  form.addEventListener("submit", send);
  if (!refusedByPage) comeBack();
})();
