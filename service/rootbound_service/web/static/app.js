// Small enhancements of every page; each works without.
"use strict";

// A list that is filtered by a choice shows at once what was chosen.
for (const form of document.querySelectorAll("form.filters")) {
  for (const select of form.querySelectorAll("select")) {
    select.addEventListener("change", () => form.requestSubmit());
  }
}

// What is sent once is not sent twice by an impatient thumb.
for (const form of document.querySelectorAll("form[method=post]")) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent && !event.defaultPrevented) {
      event.preventDefault();
      return;
    }
    form.dataset.sent = "yes";
    setTimeout(() => delete form.dataset.sent, 4000);
  });
}
