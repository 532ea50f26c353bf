"""Papers: laid out with reportlab from content that is made elsewhere. The same content gives the same bytes."""
