// Comfort beside the lane. Without it every form works as plain HTML.
(() => {
  "use strict";

  const GUARD_MS = 600;
  const TAKEN_OVER = ["ball", "laydown_board", "target_board", "target_ft"];
  let quietUntil = 0;
  let sentLast = "";

  const uuid4 = () => {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
  };

  const number = (input) => {
    const value = parseFloat((input.value || "").replace(",", "."));
    return Number.isFinite(value) ? value : null;
  };

  const shown = (value) => String(Math.round(value * 10) / 10);

  // The buttons say what they would log: with pins touched no strike, without them nothing left.
  const tellOutcome = (form) => {
    const touched = Array.from(form.querySelectorAll("input[name=left]:checked"), (box) => Number(box.value));
    const leave = form.querySelector("[data-leave]");
    if (!leave) return;
    leave.dataset.words ||= leave.textContent;
    touched.sort((a, b) => a - b);
    leave.textContent = touched.length ? `${leave.dataset.words}: ${touched.join("-")}` : leave.dataset.words;
    leave.disabled = touched.length === 0;
    form.querySelectorAll("[data-clear]").forEach((button) => { button.disabled = touched.length > 0; });
  };

  const tellLine = (line) => {
    const laydown = line.querySelector("[name=laydown_board]");
    const target = line.querySelector("[name=target_board]");
    const at = line.querySelector("[name=target_ft]");
    const words = line.querySelector("[data-line-words]");
    const from = number(laydown), to = number(target), ft = number(at);
    if (from === null || to === null) { words.textContent = "Line: not said"; return; }
    const feet = from + parseFloat(line.dataset.gap);
    words.textContent = `Feet ${shown(feet)}, laydown ${shown(from)} → ${shown(to)}${ft === null ? "" : ` at ${shown(ft)} ft`}`;
  };

  // One stroke over several pins marks them all as the first one touched.
  const strokes = (deck, form) => {
    let mark = null;
    const boxAt = (event) => {
      const under = document.elementFromPoint(event.clientX, event.clientY);
      const label = under && under.closest(".pin:not(.gone)");
      return label && deck.contains(label) ? label.querySelector("input") : null;
    };
    const set = (box) => {
      if (box && box.checked !== mark) { box.checked = mark; tellOutcome(form); }
    };
    deck.addEventListener("pointerdown", (event) => {
      const box = boxAt(event);
      if (!box) return;
      mark = !box.checked;
      set(box);
      deck.dataset.stroke = "1";
      if (event.target.releasePointerCapture && event.target.hasPointerCapture(event.pointerId)) {
        event.target.releasePointerCapture(event.pointerId);
      }
    });
    deck.addEventListener("pointermove", (event) => { if (mark !== null) set(boxAt(event)); });
    ["pointerup", "pointercancel"].forEach((name) => window.addEventListener(name, () => { mark = null; }));
    // The stroke has marked the pin already; the click that follows must not turn it back.
    deck.addEventListener("click", (event) => {
      if (deck.dataset.stroke) event.preventDefault();
      delete deck.dataset.stroke;
    });
  };

  const showChosen = (form) => form.querySelectorAll(".chips input:checked").forEach((chosen) => {
    const row = chosen.closest(".chips"), chip = chosen.closest(".chip");
    row.scrollLeft = Math.max(0, chip.offsetLeft - row.offsetLeft - 40);
  });

  const prepare = (form) => {
    if (form.dataset.ready) return;
    form.dataset.ready = "1";
    if (!document.querySelector(".refused")) {
      const id = form.querySelector("input[name=uuid]");
      if (id) id.value = uuid4();
    }
    form.querySelectorAll("[data-deck]").forEach((deck) => strokes(deck, form));
    form.addEventListener("change", () => tellOutcome(form));
    form.querySelectorAll("[data-line]").forEach((line) => {
      line.addEventListener("input", () => tellLine(line));
      tellLine(line);
    });
    form.querySelectorAll("[data-step]").forEach((button) => {
      button.hidden = false;
      button.addEventListener("click", () => {
        const input = document.getElementById(button.dataset.for);
        const now = number(input);
        input.value = shown(Math.min(39, Math.max(1, (now === null ? 20 : now) + Number(button.dataset.step))));
        input.dispatchEvent(new Event("input", { bubbles: true }));
      });
    });
    showChosen(form);
    tellOutcome(form);
  };

  const prepareAll = () => document.querySelectorAll("[data-shot-form]").forEach(prepare);

  // A second tap that lands on the next shot's button just after the page changed is not a second shot, and
  // one on the next Undo takes no second shot back. Undo right after a shot is meant, and goes through.
  document.addEventListener("submit", (event) => {
    if (!event.target.closest(".lane-side")) return;
    const kind = event.target.matches("[data-shot-form]") ? "shot" : "other";
    if (Date.now() < quietUntil && kind === sentLast) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    sentLast = kind;
  }, true);

  // Advice is taken over into the form as it stands, so that pins already touched stay touched.
  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("a[data-take-over]");
    const form = document.querySelector(".lane-side form[data-shot-form]");
    if (!link || !form) return;
    const said = new URL(link.href).searchParams;
    const balls = Array.from(form.querySelectorAll("[name=ball]"));
    // A ball that is not offered here, put away perhaps: the server says what there is instead.
    if (said.has("ball") && !balls.some((ball) => ball.value === said.get("ball"))) return;
    event.preventDefault();
    TAKEN_OVER.filter((name) => said.has(name)).forEach((name) => {
      if (name === "ball") {
        balls.forEach((ball) => { ball.checked = ball.value === said.get("ball"); });
        showChosen(form);
      } else {
        form.elements.namedItem(name).value = said.get(name);
      }
    });
    form.querySelectorAll("[data-line]").forEach(tellLine);
  });

  // What was refused stands above the form, and the button pressed may be far below it.
  const showRefusal = (within) => {
    const refused = within && within.querySelector(".refused");
    if (!refused) return;
    refused.focus({ preventScroll: true });
    refused.scrollIntoView({ block: "center" });
  };

  document.addEventListener("htmx:afterSettle", (event) => {
    // htmx may name the element that was swapped out; the page holds the one that came in.
    if (event.target.id === "lane-side") showRefusal(document.getElementById("lane-side"));
    if (event.target.id === "lane-side" || event.target.querySelector?.("#lane-side")) quietUntil = Date.now() + GUARD_MS;
    prepareAll();
  });
  // The form keeps its number, so pressing again after a lost connection cannot log twice.
  ["htmx:sendError", "htmx:timeout", "htmx:responseError"].forEach((name) => document.addEventListener(name, (event) => {
    const panel = event.target.closest?.("#lane-side");
    const status = panel && panel.querySelector("[role=status]");
    if (!status || !event.target.matches("form")) return;
    status.innerHTML = '<p class="note bad">Not sent. Press the button again: it cannot be logged twice.</p>';
    quietUntil = 0;
  }));
  const begin = () => { prepareAll(); showRefusal(document); };
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", begin);
  else begin();
})();
