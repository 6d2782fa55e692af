"""How the sheet looks: on a screen like the other pages, on paper two sides of A4."""

from ..evidence_words import STYLE as HOUSE_STYLE

STYLE = (
    HOUSE_STYLE
    + """
h2 { font-size: 1.15rem; margin: 1.5rem 0 .4rem; padding-top: .4rem; border-top: 1px solid #24292e; }
h3 { font-size: 1rem; margin: 1rem 0 .2rem; }
p { margin: .4rem 0; }
ol, ul { margin: .3rem 0; padding-left: 1.4rem; max-width: 46rem; }
.conditions, .remark { color: #4a5157; }
.scroll { margin-bottom: .6rem; }
.picture { max-width: 46rem; }
.cautions { border: 1.5px solid #c98a00; padding: .1rem 1rem .5rem; background: #fff8e6; }
.cautions h2 { border: 0; margin: .3rem 0 0; }
.cautions ul { max-width: none; }
.run .fields { display: flex; flex-wrap: wrap; gap: .8rem 1.5rem; margin: .6rem 0; padding: 0; max-width: none; }
.run .fields li { display: flex; flex: 1 1 9rem; align-items: flex-end; gap: .4rem; white-space: nowrap; }
.run .fields li::after { content: ""; flex: 1; border-bottom: 1px solid #6b7278; }
.run table { width: 100%; min-width: 32rem; table-layout: fixed; }
.run th, .run td { border: 1px solid #6b7278; padding: .15rem .4rem; text-align: left; }
.run td { height: 1.9rem; }
.run th:last-child { width: 42%; }
@media screen and (max-width: 40rem) {
  .picture svg { min-width: 28rem; }
  td.wraps:last-child { min-width: 15rem; }
}
@media (min-width: 60rem) {
  .columns { display: grid; grid-template-columns: repeat(auto-fit, minmax(20rem, 1fr)); gap: 0 2rem; }
  .wide-left { grid-template-columns: minmax(0, 5fr) minmax(0, 3fr); }
}
@page { size: A4; margin: 9mm 12mm; }
@media print {
  :root { font: 8pt/1.22 Arial, "Liberation Sans", Helvetica, sans-serif; }
  body { max-width: none; padding: 0; }
  h1 { font-size: 13pt; margin: 0 0 .3rem; }
  h2 { font-size: 9.5pt; margin: .55rem 0 .2rem; padding-top: .2rem; break-after: avoid; }
  h3, .caption, figcaption, table, th, .answer { font-size: 1rem; }
  .answer { font-weight: 700; }
  .caption { margin: .35rem 0 .1rem; break-after: avoid; }
  p { margin: .15rem 0; }
  p, dl, ul, ol, figcaption { max-width: none; }
  li { margin: 0; }
  th, td { padding: .06rem .7rem .06rem 0; }
  thead th { border-bottom-width: 1px; }
  tr, li, figure, .cautions, .columns > div, #run { break-inside: avoid; }
  .scroll { background: none; margin-bottom: .25rem; overflow: visible; }
  td.wraps, tbody th.wraps { min-width: 4rem; max-width: none; }
  figure { margin: .2rem 0; }
  .picture { max-width: none; }
  .back { break-before: page; }
  .columns { display: grid; grid-template-columns: repeat(auto-fit, minmax(50mm, 1fr)); gap: 0 6mm; }
  .wide-left { grid-template-columns: 118mm minmax(0, 1fr); }
  .cautions { padding: 0 .7rem .2rem; print-color-adjust: exact; }
  .cautions h2 { margin: .15rem 0 0; padding: 0; }
  .cautions ul { columns: 2; column-gap: 6mm; margin: .1rem 0; }
  .run td { height: 4.8mm; padding: 0 .4rem; }
  .run .fields { margin: .3rem 0; }
  .run .fields li { flex-basis: 30mm; }
}
"""
)
