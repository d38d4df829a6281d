package issue

// GermanTexts are the German texts by their keys.
var GermanTexts = catalogues()[German]
