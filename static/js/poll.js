/* Parts of a page that look for news by themselves. A part marked data-look asks as often as it says
   (data-look-seconds on its first child), and not at all while nobody looks at the page. */
(function () {
  "use strict";
  var last = new WeakMap();

  function seconds(part) {
    var paced = part.querySelector("[data-look-seconds]");
    return paced ? Number(paced.dataset.lookSeconds) : 5;
  }

  document.addEventListener("htmx:beforeRequest", function (event) {
    var part = event.detail.elt;
    if (!part.hasAttribute || !part.hasAttribute("data-look")) return;
    var now = Date.now();
    var soon = now - (last.get(part) || 0) < seconds(part) * 1000 - 300;
    if (document.hidden || soon) {
      event.preventDefault();
      return;
    }
    last.set(part, now);
  });

  /* What the page already shows, so that the server need not send it again. */
  document.addEventListener("htmx:configRequest", function (event) {
    var part = event.detail.elt;
    if (!part.hasAttribute || !part.hasAttribute("data-look")) return;
    var stamped = part.querySelector("[data-stamp]");
    event.detail.parameters.seen = stamped ? stamped.dataset.stamp : "";
    // What somebody opened to read stays open when newer text comes.
    if (part.querySelector("details.advice-more[open]")) event.detail.parameters.full = "1";
  });

  function lookNow() {
    if (document.hidden || !window.htmx) return;
    document.querySelectorAll("[data-look]").forEach(function (part) {
      last.delete(part);
      window.htmx.trigger(part, "look-now");
    });
  }

  document.addEventListener("visibilitychange", lookNow);

  /* What was just sent makes what is shown old: it must not say "up to date" until the next look. */
  document.addEventListener("htmx:afterSettle", function (event) {
    var sent = event.detail.requestConfig;
    if (sent && sent.verb !== "get") lookNow();
  });
})();
