"""Sentences of opening a file: why it is refused and what to do, and what was left alone."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

SENTENCES: dict[str, str | Promise] = {
    # refused
    "open_too_large": _(
        "The file has %(megabytes)s MB; at most %(most)s MB are read. Is it a list? Save the sheet "
        "alone as .xlsx or CSV."
    ),
    "open_empty": _("There is nothing in the file."),
    "open_not_a_list": _(
        "This is not a spreadsheet: it holds bytes that no text has. Save the list as .xlsx or CSV."
    ),
    "open_damaged": _(
        "The file is damaged or cut off: open it in a spreadsheet program and save it anew as "
        ".xlsx."
    ),
    "open_bomb": _(
        "The file unpacks to far more than a list can need and was not read: copy the list into a "
        "new workbook and save that."
    ),
    "open_xml_entities": _(
        "The file holds declarations that no spreadsheet program writes and was not read: copy the "
        "list into a new workbook and save that."
    ),
    "open_no_safe_parser": _(
        "The safe reading of XML is switched off on this server, so no .xlsx is read: save the "
        "sheet as CSV, or ask whoever runs the server."
    ),
    "open_text_without_end": _(
        "A cell of the file holds more than %(most)s characters: shorten it and save the file anew."
    ),
    "open_cell_too_long": _(
        "%(sheet)s, row %(row)s: a cell holds more than %(most)s characters. Is a quotation mark "
        "not closed?"
    ),
    "open_csv_broken": _(
        "Row %(row)s is not CSV: a quotation mark is not closed, or stands where none may."
    ),
    "open_too_many_sheets": _("The workbook has more than %(most)s sheets: load them in parts."),
    "open_too_many_rows": _("The file has more than %(most)s filled rows: load it in parts."),
    "open_too_many_columns": _(
        "%(sheet)s, row %(row)s: something stands beyond column %(most)s. Delete what is not part "
        "of the list."
    ),
    "open_too_many_cells": _("The file has more than %(most)s filled cells: load it in parts."),
    "open_has_password": _(
        "The file is protected with a password: save a copy without one and load that."
    ),
    "open_is_old_workbook": _(
        "This is a workbook of the old kind (.xls): save it as .xlsx or CSV and load that."
    ),
    "open_is_binary_workbook": _(
        "This is a binary workbook (.xlsb): save it as .xlsx or CSV and load that."
    ),
    "open_is_open_document": _(
        "This is an OpenDocument file (.ods): save it as .xlsx or CSV and load that."
    ),
    "open_is_document": _(
        "This is a text document or a presentation: copy its table into a spreadsheet, save it as "
        ".xlsx or CSV and load that."
    ),
    "open_is_pdf": _(
        "This is a PDF: ask whoever made it for the spreadsheet, or type the list into one."
    ),
    "open_is_picture": _(
        "This is a picture, and pictures are not read: type the list into a spreadsheet."
    ),
    "open_is_archive": _(
        "This is a packed archive: unpack it and load the .xlsx or CSV that is inside."
    ),
    "open_is_web_page": _(
        "This is a web page or an XML file, whatever its name says: open it in a spreadsheet "
        "program, save it as .xlsx or CSV and load that."
    ),
    # left alone, and said
    "opened_macros_left_alone": _("The workbook holds macros: they were left alone and not run."),
    "opened_links_not_followed": _(
        "The workbook links to other files: nothing was followed, the stored values are read."
    ),
    "opened_pictures_not_read": _("Pictures in the workbook are not read."),
    "opened_comments_not_read": _("Comments on cells are not read."),
    "opened_embedded_not_read": _("Files embedded in the workbook are not read."),
    "opened_formulas": _(
        "%(n)s cells hold formulas: the results stored in the file are read, nothing is worked out "
        "anew."
    ),
    "opened_hidden_sheet": _("The sheet “%(text)s” is hidden: it is read like the others."),
    "opened_hidden_columns": _("“%(text)s” has hidden columns (%(columns)s): they are read too."),
    "opened_colours_not_read": _(
        "Cells are coloured: what a colour means stands nowhere in the file and cannot be read."
    ),
    "opened_1904": _("The workbook counts its days from 1904: this is taken into account."),
    "opened_windows_1252": _(
        "The text is not UTF-8 and was read as Windows-1252: look whether accents and the sign µ "
        "are right."
    ),
    "opened_utf_16_unmarked": _("The text was read as UTF-16, though the file does not say so."),
}
