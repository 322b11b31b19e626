"""The command line and its faces: say, chat, memos, review, demo."""
