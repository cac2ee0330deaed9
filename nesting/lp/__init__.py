"""The cutting-stock LP with exact staged pricing: bounds that prove, duals that price, columns to dive on."""
