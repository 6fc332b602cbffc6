// Buttons for what only the browser can do: copy what stands in a field, print.
"use strict";

for (const button of document.querySelectorAll("button[data-copies]")) {
  button.hidden = false;
  button.addEventListener("click", async () => {
    const field = document.getElementById(button.dataset.copies);
    field.select();
    try {
      await navigator.clipboard.writeText(field.value);
    } catch { // over plain HTTP a browser has no clipboard to write to
      if (!document.execCommand("copy")) return;
    }
    button.querySelector("[role=status]").textContent = button.dataset.copied;
  });
}

for (const button of document.querySelectorAll("button[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
