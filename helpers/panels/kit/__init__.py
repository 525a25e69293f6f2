"""What every panel is made of: fields, answer as HTML, drawing, chart, tables."""
