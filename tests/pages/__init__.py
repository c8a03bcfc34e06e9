"""The pages as people open them: in a real browser, on a phone, with the keyboard, on paper."""
