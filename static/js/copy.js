// A button that copies a field's text. Browsers keep the clipboard to secure pages; elsewhere the text is
// selected and copied the old way, and where even that is refused it stays selected for the person to copy.
(() => {
  "use strict";

  async function copied(field) {
    try {
      await navigator.clipboard.writeText(field.value);
      return true;
    } catch {
      field.focus();
      field.select();
      field.setSelectionRange(0, field.value.length);
      try {
        return document.execCommand("copy");
      } catch {
        return false;
      }
    }
  }

  for (const button of document.querySelectorAll("[data-copy]")) {
    const field = document.getElementById(button.dataset.copy);
    const said = button.parentElement.querySelector("[data-copied]");
    button.hidden = false;
    button.addEventListener("click", async () => {
      const done = await copied(field);
      said.textContent = done ? "Copied." : "It is selected: copy it with your device's own menu.";
    });
  }
})();
