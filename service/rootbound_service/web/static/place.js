// Sets a field's place or the corners of its outline: by a tap on the map, or where this phone is.
"use strict";

const tools = document.getElementById("place-tools");
const said = document.getElementById("place-said");
const box = (name) => document.getElementById(`e-${name}`);
const svg = tools && tools.querySelector("svg.tap");
const M_PER_DEGREE = 111195;
const LEAST_M = 60;
const NEAR_M = 2000;

const make = (name, kind) => {
  const one = document.createElementNS("http://www.w3.org/2000/svg", name);
  one.setAttribute("class", kind);
  svg.append(one);
  return one;
};

// The map counts metres from its middle; an empty one gets its middle from the first place known.
const known = () => "lon" in svg.dataset;
const begin = (lon, lat) => {
  svg.dataset.lon = lon;
  svg.dataset.lat = lat;
  svg.dataset.squeeze = Math.cos((lat * Math.PI) / 180);
};
const metres = ([lon, lat]) => [
  (((lon - svg.dataset.lon + 540) % 360) - 180) * M_PER_DEGREE * svg.dataset.squeeze,
  (svg.dataset.lat - lat) * M_PER_DEGREE,
];
const degrees = ([x, y]) => [
  Number(svg.dataset.lon) + x / (M_PER_DEGREE * svg.dataset.squeeze),
  svg.dataset.lat - y / M_PER_DEGREE,
];

const corners = () => box("corners").value.trim().split(/\s+/).filter(Boolean)
  .map((pair) => pair.split(",").map(Number))
  .filter((pair) => pair.length === 2 && pair.every(Number.isFinite));
const middle = () => {
  const pair = [box("lon").value, box("lat").value].map((text) => text.trim());
  return pair.every(Boolean) && pair.map(Number).every(Number.isFinite) ? pair.map(Number) : null;
};

const view = () => svg.viewBox.baseVal;
const look = (x, y, wide) => {
  const now = view();
  const high = (wide * now.height) / now.width;
  svg.setAttribute("viewBox", `${x - wide / 2} ${y - high / 2} ${wide} ${high}`);
};
const width = () => {
  const m = view().width;
  return m < 1500 ? `${Math.round(m)} m` : `${(m / 1000).toFixed(m < 20000 ? 1 : 0)} km`;
};

let outline; let points; let spot; let mode = "middle";

const draw = () => {
  const at = middle();
  const list = corners();
  const first = at || list[0];
  if (!known() && first) {
    begin(...first);
    look(0, 0, NEAR_M);
  }
  if (!known()) return;
  const there = list.map(metres);
  outline.setAttribute("points", there.map((one) => one.join(",")).join(" "));
  points.setAttribute("d", there.map(([x, y]) => `M${x} ${y}h0`).join(""));
  spot.setAttribute("d", at ? `M${metres(at).join(" ")}h0` : "");
};

const set = (lon, lat) => {
  const pair = [lon.toFixed(6), lat.toFixed(6)];
  if (mode === "corner") {
    box("corners").value = `${box("corners").value.trim()} ${pair.join(",")}`.trim();
    box("corners").closest("details").open = true;
    const many = corners().length;
    said.textContent = many < 3 ? `Corner ${many}; three at least.` : `Corner ${many}. The middle of the outline is taken as the place.`;
  } else {
    [box("lon").value, box("lat").value] = pair;
    said.textContent = "Set as the middle of the field.";
  }
  draw();
};

const button = (row, text, action) => {
  const one = document.createElement("button");
  one.type = "button";
  one.className = "quiet";
  one.textContent = text;
  one.addEventListener("click", action);
  row.append(one);
  return one;
};

const row = (before) => {
  const one = document.createElement("div");
  one.className = "row";
  if (before) svg.before(one); else svg.after(one);
  return one;
};

const phone = () => {
  said.textContent = "Looking for this phone's place ...";
  navigator.geolocation.getCurrentPosition(
    ({ coords }) => {
      set(coords.longitude, coords.latitude);
      look(...metres([coords.longitude, coords.latitude]), Math.min(view().width, NEAR_M));
      const rough = coords.accuracy > 100 ? " That is rough: look at the map, or type it." : "";
      said.textContent += ` This phone's place, known to ${Math.round(coords.accuracy)} m.${rough}`;
    },
    (error) => { said.textContent = `The place is not known (${error.message}). Type it, or tap on the map.`; },
    { enableHighAccuracy: true, timeout: 20000, maximumAge: 10000 },
  );
};

const choices = (into) => {
  for (const [value, text] of [["middle", "A tap sets the middle"], ["corner", "the next corner"]]) {
    const label = document.createElement("label");
    const radio = document.createElement("input");
    label.className = "tick";
    radio.type = "radio";
    radio.name = "tap";
    radio.checked = value === mode;
    radio.addEventListener("change", () => { mode = value; });
    label.append(radio, text);
    into.append(label);
  }
};

const near = (factor) => {
  if (!known()) return;
  const now = view();
  const last = corners().at(-1);
  const aim = (mode === "corner" && last) || middle();
  const [x, y] = aim ? metres(aim) : [now.x + now.width / 2, now.y + now.height / 2];
  look(x, y, Math.max(now.width * factor, LEAST_M));
  said.textContent = `The map is ${width()} wide.`;
};

if (svg) {
  outline = make("polygon", "set");
  points = make("path", "corner");
  spot = make("path", "middle");
  tools.hidden = false;
  if (navigator.geolocation) button(row(true), "Use this phone's place", phone);
  choices(row(true));
  const below = row(false);
  button(below, "Nearer", () => near(0.5));
  button(below, "Further", () => near(2));
  button(below, "Take the last corner back", () => {
    box("corners").value = box("corners").value.trim().split(/\s+/).slice(0, -1).join(" ");
    draw();
  });
  svg.addEventListener("click", (event) => {
    if (!known()) {
      said.textContent = "Type a place near by first, or use this phone's: then the map knows where it is.";
      return;
    }
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    set(...degrees([at.x, at.y]));
  });
  for (const name of ["lat", "lon", "corners"]) box(name).addEventListener("input", draw);
  draw();
}

// Whoever chooses somebody new gets the boxes for them.
const grower = box("grower");
if (grower) {
  grower.addEventListener("change", () => {
    if (grower.value === "new") document.getElementById("new-grower").open = true;
  });
}
