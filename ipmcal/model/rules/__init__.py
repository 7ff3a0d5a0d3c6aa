"""What rule files may say."""
