"""What is typed on the page just before a sheet is made; none of it is kept."""

from django import forms


class HandoutForm(forms.Form):
    """Whom to call, and whether the lines' notes go on the sheet."""

    call = forms.CharField(
        required=False,
        max_length=120,
        label="Whom to call",
        help_text="A name, a telephone number, the hours. Printed on this sheet and "
        "kept nowhere; left empty, a line to write on is printed.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    has_notes = forms.BooleanField(
        required=False, label="Print the notes of the exercises too"
    )
