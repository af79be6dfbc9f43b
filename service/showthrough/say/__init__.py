"""Every sentence, headline, plural and chance in words."""
