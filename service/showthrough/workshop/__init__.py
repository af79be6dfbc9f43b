"""The trade's arithmetic: area, paint and cans, drying, working days, money; and cautions."""
