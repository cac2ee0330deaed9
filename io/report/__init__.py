"""Reports: one content as tables on the screen, workbook, page for the browser and PDF."""
