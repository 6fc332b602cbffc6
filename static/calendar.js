// What a field of a day or a time holds, said beside it as the shop says it: the field
// itself shows it as the browser's language has it.
"use strict";

(() => {
  const { weekdays, months, date } = document.getElementById("calendar").dataset;

  function understood({ type, value }) {
    if (value === "") return "";
    if (type === "time") {
      const [hour, minute] = value.split(":");
      return `${Number(hour)}:${minute}`;
    }
    const day = new Date(`${value}T12:00:00Z`);
    return faceside.say(date, {
      weekday: weekdays.split(" ")[day.getUTCDay()], day: day.getUTCDate(), month: months.split(" ")[day.getUTCMonth()], year: day.getUTCFullYear(),
    });
  }

  document.addEventListener("input", (e) => {
    const said = e.target.closest(".field")?.querySelector(".understood");
    if (said) said.textContent = understood(e.target);
  });
})();
