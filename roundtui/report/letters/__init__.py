"""Letters to growers and the area update: a value first, every figure with its place, then HTML, text and mail."""
