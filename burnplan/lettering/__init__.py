"""Lettering: text set as outlines at true size, as it is burned.

A typeface (:mod:`burnplan.lettering.typefaces`) is shaped by HarfBuzz line by line
(:mod:`burnplan.lettering.setting`), drawn as closed outlines in mm that do not cross
(:mod:`burnplan.lettering.drawing`), and laid on the wood: straight, on an arc, or along
the outline (:mod:`burnplan.lettering.laying`). What comes out is
:class:`burnplan.tone.letters.Letters`.
"""
