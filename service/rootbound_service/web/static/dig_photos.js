// Photos of a dig card: gathered one after another, made small before they go over a thin network.
"use strict";

self.digPhotos = (() => {
  const LONGER_SIDE = 1600;
  const QUALITY = 0.82;
  const shots = [];
  let changed = () => {};

  async function small(file) {
    try {
      const picture = await createImageBitmap(file);
      const scale = Math.min(1, LONGER_SIDE / Math.max(picture.width, picture.height));
      const canvas = document.createElement("canvas");
      canvas.width = Math.round(picture.width * scale);
      canvas.height = Math.round(picture.height * scale);
      const pen = canvas.getContext("2d");
      pen.fillStyle = "#ffffff";
      pen.fillRect(0, 0, canvas.width, canvas.height);
      pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
      return await new Promise((kept) => canvas.toBlob((blob) => kept(blob || file), "image/jpeg", QUALITY));
    } catch {
      return file;  // the service says what is wrong with it
    }
  }

  function draw() {
    const list = document.getElementById("shots");
    for (const old of list.querySelectorAll("img")) URL.revokeObjectURL(old.src);
    list.replaceChildren(...shots.map(drawn));
  }

  function drawn(shot, at) {
    const row = document.createElement("li");
    const picture = document.createElement("img");
    picture.src = URL.createObjectURL(shot.blob);
    picture.alt = `Photo ${at + 1}`;
    picture.width = 96;
    const away = document.createElement("button");
    away.type = "button";
    away.className = "quiet";
    away.textContent = `Leave out photo ${at + 1}`;
    away.addEventListener("click", () => {
      shots.splice(at, 1);
      draw();
      changed();
      document.getElementById("d-photo").focus();
    });
    row.append(picture, away);
    return row;
  }

  async function take(input) {
    const files = [...input.files];
    input.value = "";
    for (const file of files) shots.push({ name: file.name || "photo.jpg", blob: await small(file) });
    draw();
    changed();
  }

  function begin(form, whenChanged) {
    changed = whenChanged;
    for (const input of form.querySelectorAll("input[type=file]")) {
      input.addEventListener("change", () => { pending = take(input); });
    }
  }

  let pending = Promise.resolve();

  return {
    begin,
    all: async () => { await pending; return [...shots]; },
    put(given) { shots.splice(0, shots.length, ...given); draw(); },
  };
})();
