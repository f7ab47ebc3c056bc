# What a stranger meets first: no verb, a wrong verb, a wrong option, too much, too little.
show russet --version
show russet nonsense
show russet match --tonners x
show russet match
