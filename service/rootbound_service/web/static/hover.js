// Values of a day under the season's picture: by pointer, or by the arrow keys on the picture.
"use strict";

for (const figure of document.querySelectorAll(".picture")) {
  const data = figure.querySelector("script[type='application/json']");
  if (!data) continue;
  const days = JSON.parse(data.textContent);
  const out = figure.querySelector("output");
  const rule = document.createElement("div");
  rule.className = "rule";
  rule.hidden = true;
  figure.append(rule);

  const svg = () => [...figure.querySelectorAll("svg.season")].find((one) => one.getBoundingClientRect().width > 0);
  let at = Number(figure.querySelector("svg.season").dataset.now);
  const show = (index) => {
    at = Math.max(0, Math.min(days.length - 1, index));
    const one = svg();
    if (!one) return;
    const box = one.getBoundingClientRect();
    const scale = box.width / one.viewBox.baseVal.width;
    const x = (Number(one.dataset.left) + (at + 0.5) * Number(one.dataset.day)) * scale;
    rule.hidden = false;
    rule.style.left = `${x + box.left - figure.getBoundingClientRect().left}px`;
    rule.style.height = `${box.height}px`;
    out.textContent = days[at];
  };
  const point = (event) => {
    const one = svg();
    if (!one) return;
    const box = one.getBoundingClientRect();
    const scale = box.width / one.viewBox.baseVal.width;
    const x = (event.clientX - box.left) / scale;
    show(Math.floor((x - Number(one.dataset.left)) / Number(one.dataset.day)));
  };
  figure.addEventListener("pointermove", point);
  figure.addEventListener("pointerdown", point);
  figure.addEventListener("pointerleave", () => { rule.hidden = true; });
  figure.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: -1, ArrowRight: 1, PageUp: -7, PageDown: 7, Home: -9999, End: 9999 }[event.key];
    if (step === undefined) return;
    event.preventDefault();
    show(at + step);
  });
}
