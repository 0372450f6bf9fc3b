// Shows the details that go with the chosen kind of surface entry; without script all of them stay visible.
"use strict";
const kind = document.getElementById("id_kind");
const groups = document.querySelectorAll("fieldset[data-kinds]");

function showDetails() {
  for (const group of groups) {
    const wanted = group.dataset.kinds.split(" ").includes(kind.value);
    // A group with an error stays open, whatever it belongs to, so that the reason can be read.
    const keep = wanted || group.querySelector(".error") !== null;
    group.hidden = !keep;
    group.disabled = !keep;
  }
}

if (kind) {
  kind.addEventListener("change", showDetails);
  showDetails();
}
