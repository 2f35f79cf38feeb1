var builder = WebApplication.CreateBuilder(args);
await using var app = builder.Build();
await app.RunAsync();
