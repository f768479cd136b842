"use strict";
// The panel of settings: sliders over a grid that stands in the page; nothing is computed here.
(() => {
  const form = document.getElementById("panel");
  const grid = JSON.parse(document.getElementById("panel-data").textContent);
  const sliders = Array.from(form.querySelectorAll("input[type=range]"));
  const told = Array.from(form.querySelectorAll("[data-place]"));
  const show = () => {
    let place = 0;
    sliders.forEach((slider, axis) => {
      const value = grid.values[axis][Number(slider.value)];
      slider.setAttribute("aria-valuetext", value);
      slider.parentElement.querySelector("output").textContent = value;
      place = place * grid.sizes[axis] + Number(slider.value);
    });
    for (const part of told) {
      part.textContent = grid.points[place][Number(part.dataset.place)];
    }
  };
  form.addEventListener("input", show);
  form.addEventListener("submit", (event) => event.preventDefault());
  form.hidden = false;
  document.getElementById("grid").open = false;
  show();
})();
