// Chooses all lanes or none at once; without script each lane is touched on its own.
"use strict";
for (const picks of document.querySelectorAll("[data-picks]")) {
  for (const button of picks.querySelectorAll("[data-pick]")) {
    button.hidden = false;
    button.addEventListener("click", () => {
      for (const lane of picks.querySelectorAll("input[type=checkbox]")) lane.checked = button.dataset.pick === "all";
    });
  }
}
