"use strict";
const plain = text => text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
const rows = [...document.querySelectorAll("#rows li")].map(row => [row, plain(row.textContent)]);
const box = document.getElementById("words");
const found = document.getElementById("found");
const search = () => {
  const words = plain(box.value).split(/\s+/).filter(Boolean);
  let count = 0;
  for (const [row, text] of rows) {
    row.hidden = !words.every(word => text.includes(word));
    count += !row.hidden;
  }
  found.textContent = words.length ? count + " of " + rows.length : "";
};
box.addEventListener("input", search);
document.querySelector(".search").hidden = false;
search();
