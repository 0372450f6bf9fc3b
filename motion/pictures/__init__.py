"""Pictures of what the engine computes, as SVG text: numbers in, one `<svg>` string out.

Every picture carries a title and a description that says the same in words; every number drawn is finite;
colours come from classes (static/css/film.css and pictures.css). Modules that compute what is drawn stand
beside those that draw it: ``along`` (a path), ``traffic`` (film before and after), ``chance`` and
``chance_svg`` (the pocket over lines), ``layouts`` and ``layouts_svg`` (two layouts of one ball).
"""
