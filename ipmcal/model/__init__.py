"""The nouns: frozen values that every room passes on and none of them changes."""
