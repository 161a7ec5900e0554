// The place of the phone as the middle of a field, or as the next corner of its outline.
"use strict";

const tools = document.getElementById("place-tools");
const said = document.getElementById("place-said");
const field = (name) => document.querySelector(`form.enrol [name=${name}]`);

const where = (then) => {
  said.textContent = "Looking for this phone's place ...";
  navigator.geolocation.getCurrentPosition(
    ({ coords }) => {
      then(coords.latitude.toFixed(6), coords.longitude.toFixed(6));
      said.textContent += ` Known to ${Math.round(coords.accuracy)} m.`;
    },
    (error) => { said.textContent = `The place is not known (${error.message}). Type it in.`; },
    { enableHighAccuracy: true, timeout: 20000, maximumAge: 10000 },
  );
};

const button = (text, action) => {
  const one = document.createElement("button");
  one.type = "button";
  one.className = "quiet";
  one.textContent = text;
  one.addEventListener("click", action);
  tools.append(one);
};

if (tools && navigator.geolocation) {
  button("Use this phone's place", () => where((lat, lon) => {
    field("lat").value = lat;
    field("lon").value = lon;
    said.textContent = "Taken as the middle of the field.";
  }));
  button("This is a corner", () => where((lat, lon) => {
    const box = field("corners");
    box.closest("details").open = true;
    box.value = `${box.value.trim()} ${lon},${lat}`.trim();
    said.textContent = `Corner ${box.value.split(/\s+/).length}.`;
  }));
}
