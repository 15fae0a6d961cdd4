// Choosing a part in the drawing or the table swaps drawing, table and panel in place.
// Without this file the same links load the whole page.
(function () {
  "use strict";

  function plainClick(event) {
    return event.button === 0 && !(event.metaKey || event.ctrlKey || event.shiftKey || event.altKey);
  }

  // The link that had the keyboard, found again in the new view: by its id, or by where it leads.
  function focusAgain(link, byKeyboard) {
    var same = link.id ? document.getElementById(link.id) : null;
    if (!same) {
      var href = link.getAttribute("href");
      same = Array.prototype.find.call(document.querySelectorAll("#view a"), function (each) {
        return each.getAttribute("href") === href && each.getClientRects().length > 0;
      });
    }
    var head = document.getElementById("open-head");
    if (byKeyboard && same) { same.focus({ preventScroll: true }); }
    if (head && head.getBoundingClientRect().top > window.innerHeight * 0.8 && window.innerWidth < 1081) {
      head.scrollIntoView({ block: "start" });
    }
  }

  function show(href, done) {
    window.htmx.ajax("GET", href, { target: "#view", swap: "outerHTML" }).then(done);
  }

  document.addEventListener("click", function (event) {
    var link = event.target.closest("#view a");
    if (!link || !window.htmx || !plainClick(event)) { return; }
    var href = link.getAttribute("href") || "";
    if (href.charAt(0) !== "?") { return; }
    event.preventDefault();
    var byKeyboard = event.detail === 0 || document.activeElement === link;
    show(window.location.pathname + href, function () {
      window.history.pushState({ boat: true }, "", href);
      focusAgain(link, byKeyboard);
    });
  });

  window.addEventListener("popstate", function () {
    if (document.getElementById("view") && window.htmx) {
      show(window.location.pathname + window.location.search, function () {});
    }
  });
}());
