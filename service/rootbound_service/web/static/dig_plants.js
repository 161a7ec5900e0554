// The plants of a dig card, one after another under a thumb; without script all stand in a row.
"use strict";

self.digPlants = (() => {
  const plants = [...document.querySelectorAll("form#dig .plant")];
  const walls = document.querySelector("form#dig").dataset.walls.split("|");
  const WHOLE = /^\d+$/;
  let at = 0;
  let nav;

  function make(kind, more, text = "") {
    const node = Object.assign(document.createElement(kind), more);
    if (text) node.textContent = text;
    return node;
  }

  function steppers() {
    for (const box of document.querySelectorAll("form#dig .stepper")) {
      const input = box.querySelector("input");
      const name = `${box.parentElement.querySelector("label").textContent}, plant ${input.id.split("-")[1]}`;
      for (const [word, step] of [["One less", -1], ["One more", 1]]) {
        const button = make("button", { type: "button", className: "quiet" }, step < 0 ? "\u2212" : "+");
        button.setAttribute("aria-label", `${word}: ${name}`);
        button.addEventListener("click", () => {
          input.value = Math.min(60, Math.max(0, (parseInt(input.value, 10) || 0) + step));
          input.dispatchEvent(new Event("input", { bubbles: true }));
        });
        if (step < 0) box.prepend(button); else box.append(button);
      }
    }
  }

  function found(plant) {
    const of = (name) => plant.querySelector(`input[name^=${name}-]`).value.trim();
    const wall = plant.querySelector("input[type=radio]:checked");
    const [crossing, held, seed] = [of("crossing"), of("held"), of("seed")];
    return { crossing, held, seed, wall: wall ? Number(wall.value) : null,
      any: Boolean(crossing || held || seed || wall) };
  }

  function words(one) {
    const parts = [];
    if (one.crossing || one.held) parts.push(`${one.crossing || "?"} cross, ${one.held || "?"} held`);
    if (one.wall !== null) parts.push(`wall ${one.wall}`);
    return parts.join(", ") || "empty";
  }

  // As the service sums a card up: roots together, the wall of the middle plant, the worse of two.
  function sum(all) {
    const rated = all.map((one) => one.wall).filter((one) => one !== null).sort();
    const counted = all.filter((one) => WHOLE.test(one.crossing) && WHOLE.test(one.held));
    const total = (name) => counted.reduce((so_far, one) => so_far + Number(one[name]), 0);
    const parts = [`${all.length} ${all.length === 1 ? "plant" : "plants"}`];
    if (counted.length) parts.push(`${total("crossing")} roots cross, ${total("held")} are held`);
    if (rated.length) {
      const wall = rated[Math.floor(rated.length / 2)];
      parts.push(`the card's wall is ${wall} ${walls[wall]}`);
    }
    return `The card so far: ${parts.join("; ")}.`;
  }

  function show(next, focus) {
    at = Math.max(0, Math.min(plants.length - 1, next));
    plants.forEach((one, index) => { one.hidden = index !== at; });
    renew();
    if (focus) plants[at].querySelector(".stepper input, input").focus({ preventScroll: true });
    if (focus) plants[at].scrollIntoView({ block: "start" });
  }

  function renew() {
    const all = plants.map(found);
    const last = all.reduce((so_far, one, index) => (one.any ? index : so_far), -1);
    nav.list.replaceChildren();
    all.slice(0, Math.max(last, at) + 1).forEach((one, index) => {
      const button = make("button", { type: "button", className: "quiet" }, `Plant ${index + 1}: ${words(one)}`);
      if (index === at) button.setAttribute("aria-current", "step");
      button.addEventListener("click", () => show(index, true));
      const row = make("li", {});
      row.append(button);
      nav.list.append(row);
    });
    nav.sum.textContent = last < 0 ? "" : sum(all.filter((one) => one.any));
    nav.next.disabled = at === plants.length - 1;
  }

  function clear() {
    for (const input of plants[at].querySelectorAll("input")) {
      if (input.type === "radio") input.checked = false; else input.value = "";
    }
    plants[at].dispatchEvent(new Event("input", { bubbles: true }));
    show(at, true);
  }

  function begin() {
    document.documentElement.classList.add("js");
    steppers();
    nav = {
      list: make("ol", { className: "plants" }),
      sum: make("p", { className: "help" }),
      next: make("button", { type: "button" }, "Next plant"),
    };
    nav.sum.setAttribute("role", "status");
    nav.next.addEventListener("click", () => show(at + 1, true));
    const empty = make("button", { type: "button", className: "quiet" }, "Empty this plant");
    empty.addEventListener("click", clear);
    const row = make("p", { className: "plant-nav" });
    row.append(empty, nav.next);
    plants[plants.length - 1].after(row, nav.list, nav.sum);
    document.querySelector("form#dig").addEventListener("input", renew);
    const wrong = plants.findIndex((one) => one.querySelector("[aria-invalid]"));
    show(Math.max(0, wrong), false);
  }

  return { begin, show, renew, of: (input) => plants.findIndex((one) => one.contains(input)) };
})();
