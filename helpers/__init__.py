"""Calculations, questions and panels of the workbook. The floors are drawn in DEVELOPERS.md."""
