// Helps on the yard's pages. Everything works without this file.
(function () {
  "use strict";

  // A length gets buttons for less and more; typing it stays possible.
  function stepper(box) {
    var field = box.querySelector("input");
    var step = Number(box.dataset.step);
    function button(sign, words) {
      var made = document.createElement("button");
      made.type = "button";
      made.textContent = sign;
      made.setAttribute("aria-label", words);
      made.addEventListener("click", function () {
        var value = Number(field.value);
        if (!field.value || Number.isNaN(value)) { field.focus(); return; }
        value += words === "More" ? step : -step;
        if (value > 0) { field.value = String(value); }
      });
      return made;
    }
    box.insertBefore(button("\u2212", "Less"), box.firstChild);
    box.appendChild(button("+", "More"));
  }
  document.querySelectorAll(".stepper").forEach(stepper);

  // The strip that takes the last tick back shows its seconds, then makes room.
  document.querySelectorAll(".undo[data-seconds]").forEach(function (strip) {
    var left = Number(strip.dataset.seconds);
    var shown = strip.querySelector(".left");
    function count() {
      if (left <= 0) { strip.remove(); return; }
      shown.textContent = ", " + left + "\u00a0s";
      left -= 1;
      window.setTimeout(count, 1000);
    }
    count();
  });
}());
