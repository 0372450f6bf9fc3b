// Keeps what is typed into a form with data-draft on this device until the server has it.
// A draft carries the form's own token; a page that shows what that token saved lets the draft go.
"use strict";
(function () {
  const PREFIX = "burnline-draft:";
  const SKIPPED = new Set(["csrfmiddlewaretoken", "action", "csv"]);

  function stored(key) {
    try { return JSON.parse(localStorage.getItem(key)); } catch (error) { return null; }
  }

  function forget(key) {
    try { localStorage.removeItem(key); } catch (error) { /* no storage, nothing kept */ }
  }

  function forgetSaved() {
    const mark = document.querySelector("[data-saved-submissions]");
    if (!mark) return;
    const tokens = new Set(mark.dataset.savedSubmissions.split(" ").filter(Boolean));
    const fresh = new URLSearchParams(location.search).get("saved");
    if (fresh) tokens.add(fresh);
    let keys = [];
    try { keys = Object.keys(localStorage); } catch (error) { return; }
    for (const key of keys) {
      if (!key.startsWith(PREFIX)) continue;
      const draft = stored(key);
      if (!draft || tokens.has(draft.token)) forget(key);
    }
  }

  function entries(form) {
    return Array.from(new FormData(form).entries()).filter(function (pair) {
      return typeof pair[1] === "string" && !SKIPPED.has(pair[0]);
    });
  }

  function keep(form, key) {
    const token = form.elements.namedItem("token").value;
    const state = form.querySelector("[data-draft-state]");
    try {
      localStorage.setItem(key, JSON.stringify({ token: token, at: Date.now(), entries: entries(form) }));
      if (state) state.textContent = "Kept on this device, not saved yet.";
    } catch (error) {
      if (state) state.textContent = "This device keeps no drafts: save before leaving.";
    }
  }

  // The server draws the form again from the draft, rows and columns included, exactly as it was typed.
  function bringBack(form, draft) {
    const sender = document.createElement("form");
    sender.method = "post";
    // The form has buttons named "action", which hide the property of that name.
    sender.action = location.pathname;
    sender.hidden = true;
    const csrf = form.elements.namedItem("csrfmiddlewaretoken").value;
    const all = draft.entries.concat([["csrfmiddlewaretoken", csrf], ["action", "bring-back"]]);
    for (const pair of all) {
      const area = document.createElement("textarea");
      area.name = pair[0];
      area.value = pair[1];
      sender.append(area);
    }
    document.body.append(sender);
    sender.submit();
  }

  function offer(form, key) {
    const draft = stored(key);
    const box = document.getElementById("draft-offer");
    const here = form.elements.namedItem("token").value;
    if (!draft || !box || draft.token === here) return false;
    box.hidden = false;
    box.querySelector("[data-draft-time]").textContent = new Date(draft.at).toLocaleString();
    box.querySelector("[data-draft-restore]").addEventListener("click", function () { bringBack(form, draft); });
    box.querySelector("[data-draft-discard]").addEventListener("click", function () {
      forget(key);
      box.hidden = true;
    });
    return true;
  }

  forgetSaved();
  const form = document.querySelector("form[data-draft]");
  if (!form) return;
  const key = PREFIX + form.dataset.draft;
  offer(form, key);
  let timer = 0;
  function soon() {
    clearTimeout(timer);
    timer = setTimeout(function () { keep(form, key); }, 300);
  }
  form.addEventListener("input", soon);
  form.addEventListener("change", soon);
  document.body.addEventListener("htmx:afterSwap", soon);

  // Only a sheet takes the place of the sheet: an error page or a sign-in page would wipe out what was typed.
  function refused(words) {
    keep(form, key);
    const state = form.querySelector("[data-draft-state]");
    if (state) state.textContent = words + " What you typed still stands here and is kept on this device.";
  }
  document.body.addEventListener("htmx:beforeSwap", function (event) {
    const answer = event.detail;
    if (answer.target.id !== "sheet") return;
    if (answer.xhr.status === 200 && /<div id="sheet"/.test(answer.serverResponse)) return;
    answer.shouldSwap = false;
    answer.isError = false;
    refused("The server did not take the sheet (answer " + answer.xhr.status + "); you may have to sign in again.");
  });
  ["htmx:sendError", "htmx:timeout"].forEach(function (name) {
    document.body.addEventListener(name, function () { refused("The server cannot be reached."); });
  });
  form.addEventListener("submit", function () { keep(form, key); });
})();
