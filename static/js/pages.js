// Small helps for pages. Everything works without this file.
(function () {
  "use strict";

  // A form goes out once, however often its button is pressed; the server keeps count as well.
  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (form.method !== "post" || event.defaultPrevented) { return; }
    if (form.dataset.sent) { event.preventDefault(); return; }
    form.dataset.sent = "yes";
  });

  // Coming back with the browser's arrow: the form may be sent again.
  window.addEventListener("pageshow", function () {
    document.querySelectorAll("form[data-sent]").forEach(function (form) { delete form.dataset.sent; });
  });

  // An offered spelling is put into its field, which then asks again what it means.
  document.addEventListener("click", function (event) {
    var offer = event.target.closest("button[data-fill]");
    if (!offer) { return; }
    var field = document.getElementById(offer.dataset.fill);
    field.value = offer.value;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.focus();
  });
}());
