// The pad for a PIN, where there is script: a key adds its digit at once, and the last
// one signs in. Without script each key asks the server. Nothing of it is kept.
"use strict";

(() => {
  const pad = document.querySelector(".pin-pad");
  if (!pad) return;
  const field = pad.elements.pin;
  const digits = Number(field.dataset.digits);
  let sent = false;

  function go() {
    if (sent) return;
    sent = true;
    pad.requestSubmit(pad.elements.done);
  }

  pad.addEventListener("click", (e) => {
    const key = e.target.closest("button[name=key]");
    if (!key || sent) return;
    e.preventDefault();
    field.value = key.value === "back" ? field.value.slice(0, -1) : (field.value + key.value).slice(0, digits);
    if (field.value.length === digits) go();
  });
  field.addEventListener("input", () => { if (field.value.length === digits) go(); });
  window.addEventListener("pageshow", () => {
    sent = false;
    if (!document.querySelector(".pin .refusal")) return;
    field.value = "";
  });
})();
