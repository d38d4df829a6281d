package issue

var jsonRules = []Rule{}
